"""Spot cards of a published lineup, eight to a sheet, to cut apart and hand out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from drill.events.models import Segment
from drill.field.services.writing import writer_of
from drill.lineup.models import Lineup
from drill.lineup.sheets import AlternateLine, RankSheet, Seat, Sheets, sheets
from drill.publishing.pdf.prints import Start, starts_of
from drill.publishing.pdf.stamps import stamp
from roster.ranks.models import Rank

A_SHEET, TALL, ROOM = 8, 6, 2
"""cards of more segments than there is room for on an eighth are taller, six to a sheet"""


@dataclass(frozen=True)
class CardLine:
    """What somebody marches in a segment, and where it starts, where that has coordinates."""

    segment: Segment
    seat: Seat
    start: Start | None


@dataclass(frozen=True)
class SpotCard:
    """One person's card. ``lines`` are empty for an alternate who stands by."""

    name: str
    rank: Rank
    lines: tuple[CardLine, ...]
    backup_for: tuple[str, ...] = ()

    @property
    def spots(self) -> list[str]:
        """Each spot once, to be read at a glance."""
        return list(dict.fromkeys(str(line.seat.row.spot) for line in self.lines))

    @property
    def part(self) -> str:
        return str(self.lines[0].seat.row.spot.part) if self.lines else ""


def render_cards(lineup: Lineup, paper: str, only: str) -> Made:
    """A card for everybody who marches or stands by, rank by rank."""
    laid_out = sheets(lineup)
    cards = list(cards_of(lineup, laid_out))
    tall = len(laid_out.segments) > ROOM
    size = TALL if tall else A_SHEET
    context = stamp(lineup) | {
        "event": lineup.event,
        "segments": lineup.event.segments.all(),
        "tall": tall,
        "pages": [cards[at : at + size] for at in range(0, len(cards), size)],
        "note": writer_of(lineup.event.season, lineup.event.field_type).note,
    }
    content = render_pdf(
        "publishing/print/cards.html",
        context,
        paper=paper,
        title=f"Spot cards: {lineup.event}, revision {lineup.number}",
        zone=lineup.event.season.zone,
    )
    return Made(f"cards-{paper}", f"Spot cards, {PAPERS[paper]}", content)


def cards_of(lineup: Lineup, laid_out: Sheets) -> Iterator[SpotCard]:
    """The cards as the ranks follow one another; nobody has two."""
    writer = writer_of(lineup.event.season, lineup.event.field_type)
    spots = [line.spot for sheet in laid_out.ranks for line in sheet.lines]
    starts = starts_of(writer, laid_out.segments, lineup.show_versions, spots, lineup)
    seats: dict[int, list[Seat]] = {}
    for sheet in laid_out.ranks:
        for line in sheet.lines:
            for seat in line.seats:
                if seat.row.member_id is not None:
                    seats.setdefault(seat.row.member_id, []).append(seat)
    made: set[int] = set()
    for sheet in laid_out.ranks:
        for member_id in _marchers(sheet):
            if member_id not in made:
                made.add(member_id)
                yield _card(sheet.rank, seats[member_id], starts)
        for alternate in sheet.alternates:
            if _stands_by(alternate):
                yield SpotCard(alternate.place.member.name, sheet.rank, (), alternate.backup_for)


def _marchers(sheet: RankSheet) -> Iterator[int]:
    for line in sheet.lines:
        for seat in line.seats:
            if seat.row.member_id is not None:
                yield seat.row.member_id


def _stands_by(alternate: AlternateLine) -> bool:
    return not alternate.stands_at and alternate.available != "unavailable"


def _card(rank: Rank, seats: list[Seat], starts: dict[int, list[Start]]) -> SpotCard:
    lines = []
    for seat in sorted(seats, key=lambda seat: seat.row.segment.order):
        here = (s for s in starts.get(seat.row.spot_id, ()) if s.segment_id == seat.row.segment_id)
        lines.append(CardLine(seat.row.segment, seat, next(here, None)))
    return SpotCard(seats[0].name, rank, tuple(lines))
