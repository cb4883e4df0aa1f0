"""The prints of a published lineup."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from drill.events import queries as event_queries
from drill.events.models import Segment
from drill.field.services.writing import Writer, writer_of
from drill.lineup.models import Lineup
from drill.lineup.queries import dots_in
from drill.lineup.sheets import RankSheet, Sheets, sheets
from drill.lineup.wording import change_sentence
from drill.publishing.pdf.stamps import stamp
from drill.shows.models import Position
from drill.shows.queries import dots_of
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Start:
    """Where a spot starts in a segment's show, in words."""

    segment_id: int
    text: str


@dataclass(frozen=True)
class AssignmentLine:
    """A spot's line with its starting coordinates."""

    spot: Spot
    seats: tuple[Any, ...]
    backups: tuple[Any, ...]
    starts: tuple[Start, ...]


@dataclass(frozen=True)
class AssignmentSheet:
    """A rank's page of assignments."""

    rank: Any
    lines: tuple[AssignmentLine, ...]
    alternates: tuple[Any, ...]


def render_lineup(lineup: Lineup, paper: str, only: str) -> Made:
    """The front page and a page a rank; ``only='changes'`` keeps the ranks that changed."""
    laid_out = sheets(lineup)
    ranks = _ranks(laid_out, only)
    context = {"ranks": ranks, **_front(lineup, laid_out)}
    return _made("lineup", "Lineup", lineup, laid_out, context, paper, only)


def render_assignments(lineup: Lineup, paper: str, only: str) -> Made:
    """Where everybody starts, a page a rank, for rehearsals before the event."""
    laid_out = sheets(lineup)
    writer = writer_of(lineup.event.season, lineup.event.field_type)
    ranks = _assignments(lineup, laid_out, _ranks(laid_out, only), writer)
    context = {"ranks": ranks, "note": writer.note}
    return _made("assignments", "Rehearsal assignments", lineup, laid_out, context, paper, only)


def _ranks(laid_out: Sheets, only: str) -> list[RankSheet]:
    return [r for r in laid_out.ranks if r.lines and (only != "changes" or r.changed)]


def _made(
    kind: str,
    head: str,
    lineup: Lineup,
    laid_out: Sheets,
    own: dict[str, Any],
    paper: str,
    only: str,
) -> Made:
    title = f"{head}: {lineup.event}, revision {lineup.number}"
    context = stamp(lineup) | _shared(lineup, laid_out) | own
    zone = lineup.event.season.zone
    template = f"publishing/print/{kind}.html"
    content = render_pdf(template, context, paper=paper, title=title, zone=zone)
    suffix = f"-{only}" if only else ""
    pages = ", changed ranks only" if only else ""
    return Made(f"{kind}-{paper}{suffix}", f"{head}, {PAPERS[paper]}{pages}", content)


def _shared(lineup: Lineup, laid_out: Sheets) -> dict[str, Any]:
    event = lineup.event
    rehearsals = event_queries.events(event.season).filter(kind="rehearsal", date__lte=event.date)
    return {
        "event": event,
        "segments": event.segments.select_related("show"),
        "marching": laid_out.segments,
        "rehearsals": list(rehearsals.order_by("-date")[:2])[::-1],
    }


def _front(lineup: Lineup, laid_out: Sheets) -> dict[str, Any]:
    notice = lineup.change_notice or {"first": True, "changes": []}
    names = laid_out.names
    rank_of = {line.spot.pk: sheet.rank for sheet in laid_out.ranks for line in sheet.lines}
    by_rank: dict[str, list[str]] = defaultdict(list)
    if not notice["first"]:
        for segment, member, change, before, after in notice["changes"]:
            what = change_sentence(change, before, after, names)
            text = f"{names.segment(segment)}: {names.member(member)} {what}"
            rank = rank_of.get(int(after or before))
            by_rank[str(rank or "Elsewhere")].append(text)
    return {
        "holes": laid_out.hole_spots,
        "stand_ins": laid_out.stand_in_spots,
        "changes": [(name, by_rank[name]) for name in _in_order(laid_out, by_rank)],
        "previous": None if notice["first"] else (lineup.number or 1) - 1,
    }


def _in_order(laid_out: Sheets, by_rank: dict[str, list[str]]) -> list[str]:
    """The names of the ranks that changed, as the ranks follow one another."""
    order = {str(sheet.rank): number for number, sheet in enumerate(laid_out.ranks)}
    return sorted(by_rank, key=lambda name: order.get(name, len(order)))


def _assignments(
    lineup: Lineup, laid_out: Sheets, ranks: list[RankSheet], writer: Writer
) -> list[AssignmentSheet]:
    spots = [line.spot for sheet in laid_out.ranks for line in sheet.lines]
    starts = starts_of(writer, laid_out.segments, lineup.show_versions, spots, lineup)
    return [
        AssignmentSheet(
            sheet.rank,
            tuple(
                AssignmentLine(
                    line.spot, line.seats, line.backups, tuple(starts.get(line.spot.pk, ()))
                )
                for line in sheet.lines
            ),
            sheet.alternates,
        )
        for sheet in ranks
    ]


def starts_of(
    writer: Writer,
    segments: Iterable[Segment],
    versions: Mapping[str, int],
    spots: list[Spot],
    lineup: Lineup | None = None,
) -> dict[int, list[Start]]:
    """Spot id -> where it starts in each segment that has coordinates.

    ``versions``: show id as text -> id of the version to read; ``lineup``: whose dots count.
    """
    found: dict[int, list[Start]] = defaultdict(list)
    for segment in segments:
        version = versions.get(str(segment.show_id))
        if version is None or segment.show_id is None:
            continue
        at = _first_positions(version)
        show = segment.show_id
        dots = dots_in(lineup, show, spots) if lineup else dots_of(show, spots)
        for spot_id, dot in dots.items():
            if dot in at:
                x, y = at[dot]
                text = f"{writer.across(x)}; {writer.depth(y)}"
                found[spot_id].append(Start(segment.pk, text))
    return found


def _first_positions(version_id: int) -> dict[str, tuple[int, int]]:
    rows = Position.objects.filter(set__version=version_id, set__order=1)
    return {label: (x, y) for label, x, y in rows.values_list("dot__label", "x", "y")}
