"""What a member's spot card says, from published lineups only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from django.db.models import Exists, OuterRef

from drill.absences.services.standings import standings_of
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from drill.field.services.writing import Writer, writer_of
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup, LineupRow
from drill.lineup.queries import closed_seats, dots_in
from drill.lineup.services.leading import Where, leading_in
from drill.shows.models import Position
from drill.shows.pictures.picture import Picture
from drill.shows.pictures.shown import DrawnDot
from roster.people.models import Member, Qualification
from roster.ranks import queries as rank_queries
from roster.ranks.models import Holding, Spot


@dataclass(frozen=True)
class SetLine:
    """One set of a card in words."""

    label: str
    counts: int
    across: str
    depth: str


@dataclass(frozen=True)
class SegmentCard:
    """One segment of a member's card."""

    segment: Segment
    row: LineupRow | None
    sets: tuple[SetLine, ...]
    picture: Picture | None
    said: str = ""
    """'out' or 'doubtful', as entered by now"""
    closed: Spot | None = None
    """the spot they hold, where its line is closed up without it"""
    other_instrument: bool = False
    """true where they march on another instrument than their usual one"""
    leads: str = ""
    """who leads their rank in its leader's place"""

    @property
    def is_stand_in(self) -> bool:
        return self.row is not None and self.row.origin == "stands in"


@dataclass(frozen=True)
class Card:
    """A member's card for one event; ``lineup`` is None until something is published, ``travels``
    until a travel list is posted."""

    event: Event
    lineup: Lineup | None
    segments: tuple[SegmentCard, ...]
    travels: bool | None = None
    note: str = ""
    """what a reader must know to read the coordinates, if anything"""

    @property
    def marches(self) -> bool:
        return any(s.row is not None for s in self.segments)


_OTHER_INSTRUMENT = Exists(
    Qualification.objects.filter(member=OuterRef("member"), main=True).exclude(
        part__instrument=OuterRef("spot__part__instrument")
    )
)


def card(
    member: Member,
    event: Event,
    lineup: Lineup | None = None,
    writer: Writer | None = None,
    leading: Mapping[Where, str] | None = None,
) -> Card:
    """The member's card by a published lineup, else by the newest (a fixed number of queries for
    each segment); many cards of one event share a ``writer`` and who is ``leading``."""
    lineup = lineup or lineup_queries.published(event)
    segments = list(event.segments.all())
    said = {pk: standing.word for pk, standing in standings_of(event, member).items()}
    along = event_queries.travellers(event)
    travels = None if along is None else member.pk in along
    if lineup is None:
        pieces = tuple(SegmentCard(s, None, (), None, said[s.pk]) for s in segments)
        return Card(event, None, pieces, travels)
    lineup.event = event
    mine = lineup.rows.filter(member=member).select_related("spot__rank", "spot__part")
    rows = {r.segment_id: r for r in mine.annotate(other_instrument=_OTHER_INSTRUMENT)}
    writer = writer or writer_of(event.season, event.field_type)
    marching = sum(s.marches for s in segments)
    closed = _closed(member, lineup) if len(rows) < marching else {}
    if leading is None:
        leading = leading_in(lineup, {row.spot.rank_id for row in rows.values()}) if rows else {}
    pieces = tuple(
        replace(
            _piece(writer, lineup, s, rows.get(s.pk)),
            said=said[s.pk],
            closed=closed.get(s.pk),
            other_instrument=s.pk in rows and rows[s.pk].other_instrument,
            leads=leading.get((s.pk, rows[s.pk].spot.rank_id), "") if s.pk in rows else "",
        )
        for s in segments
    )
    return Card(event, lineup, pieces, travels, writer.note)


def _closed(member: Member, lineup: Lineup) -> dict[int, Spot]:
    """Segment id -> the spot that the member holds and that is closed up there."""
    held = Holding.objects.filter(rank_queries.holdings_on(lineup.event.date), member=member)
    rows = lineup.rows.filter(spot__in=held.values("spot"), member__isnull=True)
    found = list(rows.select_related("spot__rank", "segment"))
    closed = closed_seats(lineup, found)
    return {r.segment_id: r.spot for r in found if (r.segment_id, r.spot_id) in closed}


def _piece(writer: Writer, lineup: Lineup, segment: Segment, row: LineupRow | None) -> SegmentCard:
    version_id = lineup.show_versions.get(str(segment.show_id))
    if row is None or version_id is None or segment.show_id is None:
        return SegmentCard(segment, row, (), None)
    label = dots_in(lineup, segment.show_id, [row.spot])[row.spot.pk]
    mine = Position.objects.filter(set__version=version_id, dot__label=label)
    positions = list(mine.select_related("set").order_by("set__order"))
    lines = tuple(
        SetLine(p.set.label, p.set.counts, writer.across(p.x), writer.depth(p.y)) for p in positions
    )
    picture = None
    if positions:
        first = positions[0]
        title = f"{segment.show}, set {first.set.label}: where {row.spot} starts"
        me = DrawnDot(first.x, first.y, str(row.spot))
        dots = set_dots(first.set_id)
        picture = Picture(
            writer.kind,
            dots,
            me=me,
            title=title,
            from_field=writer.style.from_field,
        )
    return SegmentCard(segment, row, lines, picture)


def set_dots(set_id: int) -> tuple[DrawnDot, ...]:
    """Everybody's coordinate in a set."""
    rows = Position.objects.filter(set=set_id)
    return tuple(DrawnDot(x, y) for x, y in rows.values_list("x", "y"))
