"""The lineup's front page: three figures, where on the field it differs from the usual, and the
lists of what is open and who stands in."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from drill.events.models import Segment
from drill.field.services.writing import writer_of
from drill.lineup.models import Lineup
from drill.lineup.queries import dots_in
from drill.lineup.sheets import Seat, Sheets
from drill.lineup.wording import change_sentence
from drill.shows.models import DrillSet, Position
from drill.shows.pdf import paper_image
from drill.shows.pictures.paper import PaperPicture
from drill.shows.pictures.shown import DrawnDot

WIDTHS = {"letter": 1930, "a4": 1870}
"""of the front picture, in tenths of a millimetre: the width of the text"""
HEIGHT = 880
UNUSUAL = ("stand-in", "hole", "left-open", "closed-up")


@dataclass(frozen=True)
class Figures:
    """What staff ask first. A spot is filled when somebody marches it in every segment; a spot
    whose line is closed up without it is neither filled nor open."""

    filled: int
    spots: int
    open: int
    stand_ins: int
    """people"""


def figures(laid_out: Sheets) -> Figures:
    """Counted from the same rows as the pages of the ranks."""
    lines = [line for sheet in laid_out.ranks for line in sheet.lines]
    marks = [{seat.mark.split()[0] for seat in line.seats} for line in lines]
    return Figures(
        filled=sum(not found - {"holder", "stand-in"} for found in marks),
        spots=len(lines),
        open=sum(bool(found & {"hole", "left-open"}) for found in marks),
        stand_ins=len({seat.row.member_id for seat in laid_out.stand_ins}),
    )


def front(lineup: Lineup, laid_out: Sheets, paper: str) -> dict[str, Any]:
    """What the template of the front page needs."""
    notice = lineup.change_notice or {"first": True, "changes": []}
    segment = _pictured(lineup, laid_out)
    picture = _picture(lineup, laid_out, segment, paper) if segment else None
    return {
        "figures": figures(laid_out),
        "picture": picture,
        "image": paper_image(picture) if picture else "",
        "pictured": segment,
        "elsewhere": _elsewhere(laid_out, segment) if segment else [],
        "holes": [(s, w, _open_words(s)) for s, w in _open_spots(laid_out)],
        "stand_ins": laid_out.stand_in_spots,
        "everywhere": ", ".join(segment.name for segment in laid_out.segments),
        "changes": [] if notice["first"] else _changes(laid_out, notice),
        "previous": None if notice["first"] else (lineup.number or 1) - 1,
    }


def _open_spots(laid_out: Sheets) -> list[tuple[Seat, str]]:
    marks = ("hole", "left-open", "closed-up")
    return laid_out.by_spot([seat for mark in marks for seat in laid_out.seats(mark)])


def _open_words(seat: Seat) -> str:
    """What is more to be said than that it is open."""
    return {"left-open": "left open", "closed-up": "closed up"}.get(seat.mark, "")


def _seats_in(laid_out: Sheets, segment_id: int) -> list[Seat]:
    every = (seat for sheet in laid_out.ranks for line in sheet.lines for seat in line.seats)
    return [seat for seat in every if seat.row.segment_id == segment_id]


def _unusual(laid_out: Sheets, segment_id: int) -> dict[int, str]:
    """Spot id -> how it differs from the usual in a segment."""
    kinds = ((seat, seat.mark.split()[0]) for seat in _seats_in(laid_out, segment_id))
    return {seat.row.spot_id: kind for seat, kind in kinds if kind in UNUSUAL}


def _elsewhere(laid_out: Sheets, pictured: Segment) -> list[tuple[Segment, bool]]:
    """The other segments, with whether they differ from the usual as the pictured one does."""
    here = _unusual(laid_out, pictured.pk)
    others = [segment for segment in laid_out.segments if segment.pk != pictured.pk]
    return [(segment, _unusual(laid_out, segment.pk) == here) for segment in others]


def _pictured(lineup: Lineup, laid_out: Sheets) -> Segment | None:
    """Of the segments with coordinates the one with most that is not as usual; of several, the
    last."""
    drawn = [s for s in laid_out.segments if lineup.show_versions.get(str(s.show_id))]
    order = {segment.pk: number for number, segment in enumerate(drawn)}
    most = [(len(_unusual(laid_out, s.pk)), order[s.pk], s) for s in drawn]
    return max(most, key=lambda found: found[:2])[2] if most else None


def _picture(lineup: Lineup, laid_out: Sheets, segment: Segment, paper: str) -> PaperPicture | None:
    """The first set of a segment that places anybody, with who stands in and what is open
    marked."""
    version = lineup.show_versions[str(segment.show_id)]
    placing = Position.objects.filter(set__version=version).values("set")
    first = DrillSet.objects.filter(pk__in=placing).order_by("order").first()
    if first is None or segment.show_id is None:
        return None
    rows = Position.objects.filter(set=first).values_list("dot__label", "x", "y")
    at = {label: DrawnDot(x, y, label) for label, x, y in rows}
    kinds = _unusual(laid_out, segment.pk)
    spots = [seat.row.spot for seat in _seats_in(laid_out, segment.pk)]
    dots = dots_in(lineup, segment.show_id, spots)
    marked: dict[str, list[DrawnDot]] = defaultdict(list)
    for spot in spots:
        if spot.pk in kinds and dots[spot.pk] in at:
            dot = at.pop(dots[spot.pk])
            marked[kinds[spot.pk]].append(DrawnDot(dot.x, dot.y, str(spot)))
    writer = writer_of(lineup.event.season, lineup.event.field_type)
    return PaperPicture(
        writer.kind,
        WIDTHS[paper],
        tuple(at.values()),
        stand_ins=tuple(marked["stand-in"]),
        holes=tuple(marked["hole"]),
        opens=tuple(marked["left-open"]),
        closed=tuple(marked["closed-up"]),
        title=f"{segment}, set {first.label} of {segment.show}",
        height=HEIGHT,
        from_field=writer.style.from_field,
    )


def _changes(laid_out: Sheets, notice: dict[str, Any]) -> list[tuple[str, list[str]]]:
    """What changed since the last revision, by rank as the ranks follow one another; a member's
    same change in several segments is one line."""
    names = laid_out.names
    rank_of = {line.spot.pk: sheet.rank for sheet in laid_out.ranks for line in sheet.lines}
    order = {str(sheet.rank): number for number, sheet in enumerate(laid_out.ranks)}
    where: dict[tuple[str, str], list[str]] = defaultdict(list)
    for segment, member, change, before, after in notice["changes"]:
        what = change_sentence(change, before, after, names)
        rank = str(rank_of.get(int(after or before)) or "Elsewhere")
        where[rank, f"{names.member(member)} {what}"].append(names.segment(segment))
    by_rank: dict[str, list[str]] = defaultdict(list)
    for (rank, text), segments in where.items():
        by_rank[rank].append(f"{', '.join(segments)}: {text}")
    return [(r, by_rank[r]) for r in sorted(by_rank, key=lambda r: order.get(r, len(order)))]
