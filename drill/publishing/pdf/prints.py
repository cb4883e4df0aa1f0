"""The prints of a published lineup."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from drill.events import queries as event_queries
from drill.events.models import Segment
from drill.field.core.spoken import SHORT_KEY, short_words
from drill.field.services.writing import Writer, writer_of
from drill.lineup.models import Lineup
from drill.lineup.queries import dots_in
from drill.lineup.sheets import RankSheet, Seat, Sheets, sheets
from drill.publishing.pdf.front import front
from drill.publishing.pdf.stamps import stamp
from drill.shows.models import Position
from drill.shows.queries import dots_of
from roster.ranks.models import Spot

SPOTS_A_PAGE = 30
"""a larger rank has several pages, as even as they come"""
MANY_SPOTS = 22
"""a page of more has no room for a table of alternates: they follow one another in lines"""


@dataclass(frozen=True)
class Start:
    """Where a spot starts in a segment's show, in words."""

    segment_id: int
    across: str
    depth: str

    @property
    def text(self) -> str:
        return f"{self.across}; {self.depth}"


@dataclass(frozen=True)
class AssignmentLine:
    """A spot's line: who works on it, and where it starts in each segment with coordinates."""

    spot: Spot
    seats: tuple[Seat, ...]
    starts: tuple[Start | None, ...]

    @property
    def names(self) -> tuple[tuple[str, Seat], ...]:
        """One seat, or each segment's own where they differ."""
        return told_apart(self.seats)

    @property
    def has_stand_in(self) -> bool:
        return any(seat.stands_in_here for seat in self.seats)


@dataclass(frozen=True)
class Page:
    """A page of a rank's spots; ``last`` has what follows them."""

    sheet: RankSheet
    lines: tuple[Any, ...]
    spots: str
    """'1-1 to 1-18' where the rank has several pages"""
    last: bool

    @property
    def has_stand_in(self) -> bool:
        return any(line.has_stand_in for line in self.lines)

    @property
    def is_full(self) -> bool:
        return len(self.lines) > MANY_SPOTS

    @property
    def backups(self) -> list[tuple[Spot, tuple[Any, ...]]]:
        """The spots of the page somebody is named for."""
        named = {line.spot.pk: line.backups for line in self.sheet.lines if line.backups}
        return [(x.spot, named[x.spot.pk]) for x in self.lines if x.spot.pk in named]


def told_apart(seats: Sequence[Seat]) -> tuple[tuple[str, Seat], ...]:
    """One seat without a segment, or each segment's own where they differ."""
    same = {(seat.row.member_id, seat.word, seat.changed) for seat in seats}
    if len(same) == 1:
        return (("", seats[0]),)
    return tuple((seat.row.segment.name, seat) for seat in seats)


def pages_of(sheet: RankSheet, lines: Sequence[Any]) -> list[Page]:
    """A rank's lines on as few pages as ``SPOTS_A_PAGE`` allows, none of them nearly empty."""
    count = max(1, math.ceil(len(lines) / SPOTS_A_PAGE))
    size = math.ceil(len(lines) / count)
    parts = [tuple(lines[at : at + size]) for at in range(0, len(lines), size)]
    return [
        Page(
            sheet,
            part,
            f"{part[0].spot} to {part[-1].spot}" if count > 1 else "",
            number == len(parts),
        )
        for number, part in enumerate(parts, 1)
    ]


def render_lineup(lineup: Lineup, paper: str, only: str) -> Made:
    """The front page and a page a rank; ``only='changes'`` keeps the ranks that changed."""
    laid_out = sheets(lineup)
    ranks = _ranks(laid_out, only)
    pages = [page for sheet in ranks for page in pages_of(sheet, sheet.lines)]
    own = {"pages": pages, "ranks": ranks, **front(lineup, laid_out, paper)}
    return _made("lineup", "Lineup", lineup, laid_out, own, paper, only)


def render_assignments(lineup: Lineup, paper: str, only: str) -> Made:
    """Where everybody starts, a page a rank, for rehearsals before the event."""
    laid_out = sheets(lineup)
    writer = writer_of(lineup.event.season, lineup.event.field_type)
    drawn = [s for s in laid_out.segments if lineup.show_versions.get(str(s.show_id))]
    lines = _assignments(lineup, laid_out, drawn, writer)
    pages = [
        page
        for sheet in _ranks(laid_out, only)
        for page in pages_of(sheet, [lines[line.spot.pk] for line in sheet.lines])
    ]
    narrow = len(drawn) > 1
    own = {"pages": pages, "drawn": drawn, "note": writer.note, "key": SHORT_KEY if narrow else ""}
    return _made("assignments", "Rehearsal assignments", lineup, laid_out, own, paper, only)


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


def _assignments(
    lineup: Lineup, laid_out: Sheets, drawn: Sequence[Segment], writer: Writer
) -> dict[int, AssignmentLine]:
    """Spot id -> its line. Coordinates of several segments stand side by side, so they are
    written short."""
    every = [line for sheet in laid_out.ranks for line in sheet.lines]
    spots = [line.spot for line in every]
    starts = starts_of(writer, drawn, lineup.show_versions, spots, lineup)
    found = {}
    for line in every:
        mine = {start.segment_id: start for start in starts.get(line.spot.pk, ())}
        if len(drawn) > 1:
            mine = {pk: shortened(start) for pk, start in mine.items()}
        columns = tuple(mine.get(segment.pk) for segment in drawn)
        found[line.spot.pk] = AssignmentLine(line.spot, line.seats, columns)
    return found


def shortened(start: Start) -> Start:
    """The same in the few letters of a narrow column."""
    return Start(start.segment_id, short_words(start.across), short_words(start.depth))


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
                found[spot_id].append(Start(segment.pk, writer.across(x), writer.depth(y)))
    return found


def _first_positions(version_id: int) -> dict[str, tuple[int, int]]:
    rows = Position.objects.filter(set__version=version_id, set__order=1)
    return {label: (x, y) for label, x, y in rows.values_list("dot__label", "x", "y")}
