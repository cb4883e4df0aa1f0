"""What one member has to learn to march one spot at an event, show by show."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import dataclass

from django.db.models import Q

from drill.backups.models import Lesson
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.lineup.core.relearn import Load, NewSet, loads, study_order
from drill.lineup.core.set_gaps import ShowDrill
from drill.lineup.enums import LineupState
from drill.lineup.models import Backup, LineupRow
from drill.lineup.services.relearning import home_of, knowledge, read_drills, read_practised, target
from drill.shows.models import Show, ShowVersion
from drill.shows.queries import dots_of
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import Holding, Spot


@dataclass(frozen=True)
class Study:
    """One show: what it asks, and its new sets in the order to learn them."""

    show: Show
    load: Load
    order: tuple[NewSet, ...]
    at: Mapping[int, tuple[int, int]]
    """set index -> where the spot stands in it (1/32 inch)"""


def studies(event: Event, member: Member, spot: Spot) -> list[Study]:
    """The event's shows that have coordinates, in order (a fixed number of queries)."""
    shows = {s.show_id: s.show for s in event.segments.all() if s.marches and s.show}
    versions = event_queries.current_versions({pk for pk in shows if pk}, event)
    return studies_of(event, [(member, spot)], versions, dots_of)[member.pk, spot.pk]


def studies_of(
    event: Event,
    pairs: Collection[tuple[Member, Spot]],
    versions: Mapping[int, ShowVersion],
    dots: Callable[[int, Iterable[Spot]], dict[int, str]],
) -> dict[tuple[int, int], list[Study]]:
    """(member id, spot id) -> what the spot asks of the member in these versions, by show id (a
    fixed number of queries whatever the number of pairs). ``dots``: show id, spots -> the label of
    each spot's dot."""
    shows = {s.show_id: s.show for s in event.segments.all() if s.marches and s.show}
    members = {member.pk: member for member, _ in pairs}
    held = _held(event, members)
    worked_on = Q(practice__member__in=members) | Q(practice_log__member__in=members)
    practised_on = Spot.objects.filter(worked_on).select_related("rank").distinct()
    known = {s.pk: s for s in [*practised_on, *held.values(), *(spot for _, spot in pairs)]}
    drills = read_drills(event.season, versions, {pk: dots(pk, known.values()) for pk in versions})
    practised = read_practised(event.season, drills, members)
    found: dict[tuple[int, int], list[Study]] = {}
    for member, spot in pairs:
        home = home_of(member, held.get(member.pk))
        mine = found[member.pk, spot.pk] = []
        for pk, drill in drills.shows.items():
            knows = knowledge(drills, practised, member.pk, home, pk)
            there = target(drills.dots[pk], spot)
            (load,) = loads(drill, knows, [there])
            order = study_order(drill, knows, there)
            mine.append(Study(_show(shows, pk), load, order, _stands(drill, there.dot)))
    return found


def _stands(drill: ShowDrill, dot: str) -> dict[int, tuple[int, int]]:
    if dot not in drill.row_of:
        return {}
    points = drill.points[drill.row_of[dot]]
    return {i: (int(x), int(y)) for i, (x, y) in enumerate(points.tolist()) if x == x}


def _show(shows: Mapping[int | None, Show | None], pk: int) -> Show:
    show = shows[pk]
    assert show is not None
    return show


def _held(event: Event, members: Collection[int]) -> dict[int, Spot]:
    """Member id -> the spot held on the event's day."""
    rows = Holding.objects.filter(rank_queries.holdings_on(event.date), member__in=members)
    return {row.member_id: row.spot for row in rows.select_related("spot__rank")}


def work_on(members: Collection[Member], spot: Spot) -> bool:
    """One of the members holds the spot, is a backup for it, learns it, or marches it in a
    published lineup."""
    return (
        Holding.objects.filter(member__in=members, spot=spot, ends__isnull=True).exists()
        or Backup.objects.filter(member__in=members, spot=spot).exists()
        or Lesson.objects.filter(member__in=members, spot=spot).exists()
        or LineupRow.objects.filter(
            member__in=members, spot=spot, lineup__state=LineupState.PUBLISHED
        ).exists()
    )
