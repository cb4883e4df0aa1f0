"""How often each member was out this season, and the chances that follow."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property

from django.db.models import Exists, OuterRef, Q

from bandops.lib.audit.unchanged import while_unchanged
from bandops.lib.keys import key
from drill.absences.core import availability as states
from drill.absences.enums import COUNTING
from drill.absences.models import Absence
from drill.absences.services.standings import entry_of, segment_slots, slots_of
from drill.backups.core.chances import History, Prior, band_prior
from drill.backups.enums import ChancesFrom
from drill.backups.models import BackupPlan
from drill.events import queries as event_queries
from drill.events.enums import MARCHING, EventKind, TravelState
from drill.events.models import Event, Traveller
from drill.record.enums import RecordOutcome
from drill.record.models import RecordEntry
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.models import Attendance
from drill.rehearsals.services.attendance import outcome_at
from roster.people import queries as people_queries
from roster.people.models import Member, Season
from roster.ranks.models import Holding

Cell = tuple[int, int]
"""(event id, member id)"""
NOT_THERE = (RecordOutcome.AWAY, RecordOutcome.MISSED)


@dataclass(frozen=True)
class Chances:
    """Members' chances of being out of an event, by their key.

    ``histories`` is empty where everybody is given the same chance, ``usual``.
    """

    usual: float
    histories: dict[str, History]
    rehearsals: int = 0
    performances: int = 0

    @cached_property
    def prior(self) -> Prior:
        return band_prior(self.histories, self.usual)

    def of(self, member: str) -> float:
        """The member's chance, the usual one for somebody unknown."""
        return self.prior.chance(self.histories.get(member, History()))


def chances_of(plan: BackupPlan) -> Chances:
    """The chances that the plan's setting asks for."""
    usual = float(plan.chance)
    if plan.chances_from == ChancesFrom.SAME:
        return Chances(usual, {})
    event = plan.event
    past = past_to_show(event.season, min(event.date, event.season.today()))
    rehearsals = sum(e.kind == EventKind.REHEARSAL for e in past)
    found = histories_to_show(event.season, past)
    return Chances(usual, found, rehearsals, len(past) - rehearsals)


def past_events(season: Season, before: datetime.date) -> list[Event]:
    """The season's events before a day, with what a member could miss of them."""
    return list(event_queries.events(season).filter(date__lt=before).prefetch_related("blocks"))


def past_to_show(season: Season, before: datetime.date) -> list[Event]:
    """The same, kept while nothing is written."""
    return while_unchanged(("past", season.pk, before), lambda: past_events(season, before))


def histories_to_show(season: Season, events: list[Event]) -> dict[str, History]:
    """The same as ``histories``, kept while nothing is written."""
    asked = ("histories", season.pk, tuple(event.pk for event in events))
    return while_unchanged(asked, lambda: histories(season, events))


def histories(season: Season, events: Iterable[Event]) -> dict[str, History]:
    """Member key -> on how many of the events they could come, and how many they missed.

    At a rehearsal the notes about a member count, at a performance its marching record, and until
    that is confirmed the notes; without them what was reported. Whoever a posted travel list left
    at home could not come. A fixed number of queries.
    """
    past = list(events)
    known: dict[Cell, float | None] = {**_seen(season), **_booked(season)}
    entries = _entries(season)
    posted = _posted(season)
    found = {}
    for pk in people_queries.active_members(season).values_list("pk", flat=True):
        mine = [e for e in past if e.pk not in posted or pk in posted[e.pk]]
        missed = [known.get((e.pk, pk), _reported(e, entries.get(pk, ()))) for e in mine]
        counted = [value for value in missed if value is not None]
        found[key(pk)] = History(len(counted), sum(counted))
    return found


def _reported(event: Event, entries: Iterable[states.Entry]) -> float:
    """How much of an absence the entries make of it: a performance is missed when somebody must
    stand in for any of it, a rehearsal when nothing of it is left."""
    if not entries:
        return 0.0
    rehearsal = event.kind == EventKind.REHEARSAL
    segments = list(event.segments.all())
    marched = {s.pk for s in segments if s.kind in MARCHING}
    marching = [slot for slot in segment_slots(event, segments) if slot.key in marched]
    slots = slots_of(event) if rehearsal or not marching else marching
    found = [float(states.standing(slot, entries).chance) for slot in slots]
    return min(found) if rehearsal else max(found)


def _entries(season: Season) -> dict[int, list[states.Entry]]:
    found: dict[int, list[states.Entry]] = defaultdict(list)
    for absence in Absence.objects.filter(member__season=season, state__in=COUNTING):
        found[absence.member_id].append(entry_of(absence))
    return found


def _seen(season: Season) -> dict[Cell, float]:
    """What was noted at rehearsals and performances; nothing where notes differ."""
    notes: dict[Cell, list[Attendance]] = defaultdict(list)
    rows = Attendance.objects.filter(event__season=season).select_related("event")
    for note in rows:
        notes[note.event_id, note.member_id].append(note)
    outcomes = {c: outcome_at(those[0].event, those).state for c, those in notes.items()}
    return {
        cell: float(state == AttendanceState.ABSENT)
        for cell, state in outcomes.items()
        if state is not None
    }


def _booked(season: Season) -> dict[Cell, float | None]:
    """What the marching records say of performances; None where nobody had asked the member to
    come: they have neither a spot nor an alternate's place."""
    outcomes: dict[Cell, set[str]] = defaultdict(set)
    rows = RecordEntry.objects.filter(record__event__season=season)
    for event, member, outcome in rows.values_list("record__event_id", "member_id", "outcome"):
        outcomes[event, member].add(outcome)
    holds = Holding.objects.filter(member=OuterRef("pk"), ends__isnull=True)
    placed = Member.objects.filter(
        Exists(holds) | Q(alternate_place__isnull=False), season=season
    ).values_list("pk", flat=True)
    asked = set(placed)
    return {
        cell: None
        if those == {RecordOutcome.AWAY} and cell[1] not in asked
        else float(not those.isdisjoint(NOT_THERE))
        for cell, those in outcomes.items()
    }


def _posted(season: Season) -> dict[int, set[int]]:
    """Event id -> who is on its posted travel list, for events that have one."""
    rows = Traveller.objects.filter(list__event__season=season, list__state=TravelState.POSTED)
    found: dict[int, set[int]] = defaultdict(set)
    for event, member in rows.values_list("list__event_id", "member_id"):
        found[event].add(member)
    return found
