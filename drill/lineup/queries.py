"""Reused reads of lineups and of what staff ordered."""

from __future__ import annotations

from collections.abc import Iterable

from django.db.models import QuerySet

from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from drill.lineup.core.problem import Origin
from drill.lineup.enums import LineupState
from drill.lineup.models import Backup, Block, Lineup, LineupRow, OpenSeat, Pin
from drill.shows.queries import dots_of
from roster.people.enums import MemberStatus
from roster.people.models import Season
from roster.ranks.models import Spot


def closed_seats(lineup: Lineup, rows: Iterable[LineupRow]) -> set[tuple[int, int]]:
    """(segment, spot) of the seats that are left open with their line closed up; asks nothing
    where no seat is left open."""
    opens = [r for r in rows if r.origin == Origin.LEFT_OPEN and r.segment.show_id]
    if not opens:
        return set()
    versions = lineup.show_versions
    if lineup.number is None:
        shows = {r.segment.show_id for r in opens if r.segment.show_id}
        in_use = event_queries.current_versions(shows, lineup.event)
        versions = {str(show): version.pk for show, version in in_use.items()}
    closed = event_queries.closed_spots(lineup.event)
    return {
        (r.segment_id, r.spot_id)
        for r in opens
        if r.spot_id in closed.get(versions.get(str(r.segment.show_id), 0), ())
    }


def published(event: Event) -> Lineup | None:
    """The event's newest published lineup."""
    lineups = Lineup.objects.filter(event=event, state=LineupState.PUBLISHED)
    return lineups.order_by("-number").first()


def segments_over(event: Event, segments: Iterable[Segment] | None = None) -> frozenset[int]:
    """Ids of the segments that are over and stay as they were marched; none before anything is
    published. Where all of them are given and to come, nothing is asked."""
    every = event.segments.all() if segments is None else segments
    over = [segment.pk for segment in every if event_queries.is_over(segment)]
    return frozenset(over) if over and published(event) is not None else frozenset()


def draft(event: Event) -> Lineup | None:
    """The event's draft."""
    return Lineup.objects.filter(event=event, state=LineupState.DRAFT).first()


def rows(lineup: Lineup) -> QuerySet[LineupRow]:
    """A lineup's rows in printing order."""
    return lineup.rows.select_related(
        "segment", "spot__rank", "spot__part", "member__person"
    ).order_by("segment__order", "spot__rank__order", "spot__rank__label", "spot__number")


def latest_numbers(season: Season) -> QuerySet[Lineup]:
    """The newest published lineup of each event."""
    newest = Lineup.objects.filter(event__season=season, state=LineupState.PUBLISHED).order_by(
        "event_id", "-number"
    )
    best: dict[int, int] = {}
    for pk, event_id in newest.values_list("pk", "event_id"):
        best.setdefault(event_id, pk)
    return Lineup.objects.filter(pk__in=best.values())


def backups(season: Season) -> QuerySet[Backup]:
    """Named backups who take part, in order, with spot and member; somebody on leave keeps their
    place for their return."""
    named = Backup.objects.filter(spot__rank__season=season, member__status=MemberStatus.ACTIVE)
    return named.select_related("spot__rank", "member__person")


def orders(event: Event) -> tuple[list[Pin], list[Block], list[OpenSeat]]:
    """Staff's pins, blocks and open seats for an event."""
    pins = event.pins.select_related("spot__rank", "member__person", "segment")
    blocks = event.march_blocks.select_related("spot__rank", "member__person", "segment")
    opens = event.open_seats.select_related("spot__rank", "segment")
    return list(pins), list(blocks), list(opens)


def dots_in(lineup: Lineup, show_id: int, spots: Iterable[Spot]) -> dict[int, str]:
    """Spot id -> label of the dot it marches in the show; in a published lineup, as it was when
    that came out."""
    if lineup.number is None:
        return dots_of(show_id, spots)
    kept = lineup.dots.get(str(show_id), {})
    return {s.pk: kept.get(str(s.pk), s.label) for s in spots}
