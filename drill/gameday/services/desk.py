"""The game-day desk opened: a published lineup, who could step in, who is back."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping
from dataclasses import dataclass

from bandops.lib.keys import key
from drill.events.models import Event
from drill.gameday.core.fills import (
    Choice,
    Field,
    Learning,
    chain_choices,
    direct_choices,
    seats_of_member,
)
from drill.gameday.models import DayChange
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of
from roster.people.models import Member


@dataclass(frozen=True)
class Desk:
    """A published lineup with what is needed to mend it."""

    lineup: Lineup
    built: Built
    field: Field

    @property
    def event(self) -> Event:
        return self.built.event


@dataclass(frozen=True)
class Wish:
    """What somebody at the desk wants: ``out`` goes, ``into`` steps in, by ``mover`` if it is a
    chain; without ``into`` the seats become holes. ``seen`` is the revision they looked at."""

    out: Member
    into: Member | None
    mover: Member | None
    seen: int
    key: uuid.UUID
    at: datetime.datetime


def open_desk(event: Event) -> Desk | None:
    """The event's newest revision, ready for questions; None before the first publication."""
    lineup = lineup_queries.published(event)
    if lineup is None:
        return None
    built = build(event)
    field = Field(built.problem, seats_of(placements_of(lineup)), learning_of(built))
    return Desk(lineup, built, field)


def learning_of(built: Built) -> Learning:
    """What the spots of the event's shows ask of the members."""
    shows = {g: key(s.show_id) for g, s in built.segments.items() if s.show_id in built.versions}
    return Learning(shows, built.loads)


def choices(desk: Desk, member: Member) -> list[Choice]:
    """Who could step in for the member: directly in order, then chains that cost fewer sets."""
    seats = seats_of_member(desk.field, key(member.pk))
    if not seats:
        return []
    out = key(member.pk)
    return direct_choices(desk.field, seats, out) + chain_choices(desk.field, seats, out)


def who_is_back(desk: Desk) -> list[DayChange]:
    """Changes whose member is available again: nothing moves by itself, staff put them back."""
    changes = DayChange.objects.filter(
        event=desk.event, undone_at__isnull=True, member_out__isnull=False
    ).select_related("member_out__person", "made_by")
    away = {m.key: m.away for m in desk.built.problem.members}

    def is_back(change: DayChange) -> bool:
        member = key(change.member_out_id or 0)
        return member in away and not any(key(g) in away[member] for g, *_ in change.seats)

    return [c for c in changes if is_back(c) and stands_as_after(desk.field.seats, c)]


def stands_as_after(seats: Mapping[Seat, str | None], change: DayChange) -> bool:
    return all(
        seats.get((key(g), key(s))) == (key(after) if after else None)
        for g, s, _, after in change.seats
    )
