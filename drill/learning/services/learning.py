"""Who works on which spot before a performance: lessons, named backups, stand-ins."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from drill.events import queries as event_queries
from drill.events.models import Event
from drill.learning.services.work import Work, guests_of, lineup_for, work_before
from drill.rehearsals import queries as rehearsal_queries
from drill.rehearsals.models import PracticeEntry
from drill.rehearsals.services.attendance import places_on
from drill.rehearsals.services.practice import sets_of
from drill.rehearsals.services.practised import practised
from drill.shows.models import Show
from drill.shows.queries import dots_of
from roster.people.models import Member, Season
from roster.ranks.models import Rank


@dataclass(frozen=True)
class ShowLine:
    """One show of a spot to work on: its sets as (id, label), and how many are practised."""

    show: Show
    sets: tuple[tuple[int, str], ...]
    practised: int


@dataclass(frozen=True)
class SpotLine:
    """A spot with what can be logged on it."""

    work: Work
    shows: tuple[ShowLine, ...]


@dataclass(frozen=True)
class Entry:
    """An entry of the log with the labels of its sets, in order; none where they are gone."""

    row: PracticeEntry
    sets: tuple[str, ...]


@dataclass(frozen=True)
class Learner:
    """An alternate or a stand-in of a rank, with their spots and what was logged today."""

    member: Member
    place: str
    spots: tuple[SpotLine, ...]
    entries: tuple[Entry, ...]


def learners(rehearsal: Event, rank: Rank, *, with_draft: bool) -> list[Learner]:
    """The rank's alternates and stand-ins, in order (a fixed number of queries)."""
    performance = rehearsal_queries.performance_after(rehearsal)
    lineup = lineup_for(performance, with_draft=with_draft)
    work = work_before(performance, lineup) if performance else {}
    people = [
        (member, place)
        for rank_id, member, place in places_on(rehearsal.season, rehearsal.date)
        if rank_id == rank.pk and place.startswith("alternate")
    ]
    people += guests_of(rank, work, {member.pk for member, _ in people}, rehearsal)
    entries = _entries(rehearsal, [member for member, _ in people])
    lines = _SpotLines(rehearsal.season, work, [member.pk for member, _ in people])
    return [
        Learner(member, place, lines.of(member), tuple(entries.get(member.pk, ())))
        for member, place in people
    ]


class _SpotLines:
    """The lines of several members, from a fixed number of queries."""

    def __init__(self, season: Season, work: dict[int, list[Work]], member_ids: list[int]) -> None:
        self.work = {pk: _once_a_spot(work.get(pk, [])) for pk in member_ids}
        shows = {show.pk for works in self.work.values() for w in works for show in w.shows}
        self.sets = {
            show: tuple((s.pk, s.label) for s in rows) for show, rows in sets_of(shows).items()
        }
        versions = event_queries.current_versions(shows)
        spots = [w.spot for works in self.work.values() for w in works]
        dots = {show: dots_of(show, spots) for show in versions}
        self.practised = practised(season, versions, dots, member_ids)

    def of(self, member: Member) -> tuple[SpotLine, ...]:
        return tuple(
            SpotLine(work, tuple(self._show(member, work, show) for show in work.shows))
            for work in self.work[member.pk]
        )

    def _show(self, member: Member, work: Work, show: Show) -> ShowLine:
        done = self.practised.get((member.pk, work.spot.pk, show.pk), frozenset())
        return ShowLine(show, self.sets.get(show.pk, ()), len(done))


def _once_a_spot(works: list[Work]) -> list[Work]:
    """Each spot once, with all the reasons to work on it and all its shows."""
    by_spot: dict[int, Work] = {}
    for work in works:
        before = by_spot.get(work.spot.pk)
        if before is not None:
            shows = tuple(dict.fromkeys(before.shows + work.shows))
            work = Work(work.spot, before.why, f"{before.words}; {work.words}", shows)
        by_spot[work.spot.pk] = work
    return list(by_spot.values())


def _entries(rehearsal: Event, members: list[Member]) -> dict[int, list[Entry]]:
    rows = list(
        rehearsal.practice_log.filter(member__in=members).select_related(
            "spot__rank", "show", "noted_by"
        )
    )
    labels: dict[int, list[str]] = defaultdict(list)
    links = PracticeEntry.sets.through.objects.filter(practiceentry__in=rows)
    for entry, label in links.order_by("drillset__order").values_list(
        "practiceentry_id", "drillset__label"
    ):
        labels[entry].append(label)
    found: dict[int, list[Entry]] = defaultdict(list)
    for row in rows:
        found[row.member_id].append(Entry(row, tuple(labels[row.pk])))
    return found
