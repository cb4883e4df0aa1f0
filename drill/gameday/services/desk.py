"""The game-day desk opened: a published lineup, who could step in, who is back."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from bandops.lib.keys import key
from drill.events.models import Event
from drill.gameday.core.fills import (
    Choice,
    Field,
    Learning,
    chain_choices,
    direct_choices,
    open_seats,
)
from drill.gameday.models import DayChange
from drill.gameday.queries import Clock, clock
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built, build_to_show
from drill.lineup.services.proposals import placements_of
from drill.rehearsals.core.presence import Presence
from drill.rehearsals.services.presence import presence_word, presences
from roster.people.models import Member
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Desk:
    """A published lineup with what is needed to mend it."""

    lineup: Lineup
    built: Built
    field: Field
    clock: Clock

    @property
    def event(self) -> Event:
        return self.built.event

    @cached_property
    def noted(self) -> dict[int, Presence]:
        """Member id -> what the attendance says of them, read once."""
        return {member: found for (_, member), found in presences([self.event]).items()}


@dataclass(frozen=True)
class Wish:
    """What somebody at the desk wants: ``out`` goes, ``into`` steps in, by ``mover`` if it is a
    chain; without ``into`` the seats become holes. ``seen`` is the revision they looked at.

    It is about the ``segments`` (ids), or about all that are not over where none is named. Without
    ``out`` it fills an open ``spot``. ``moves`` is what the button said that it does, where it did.
    """

    out: Member | None
    into: Member | None
    mover: Member | None
    seen: int
    key: uuid.UUID
    at: datetime.datetime
    segments: frozenset[int] = frozenset()
    spot: Spot | None = None
    moves: frozenset[tuple[str, str, str]] | None = None

    def within(self, segments: Collection[int]) -> Wish:
        """What the wish is about in some of its segments (ids)."""
        keys = {key(pk) for pk in segments}
        moves = self.moves
        if moves is not None:
            moves = frozenset(move for move in moves if move[0] in keys)
        return replace(self, segments=frozenset(segments), moves=moves)

    def seats_in(self, seats: Mapping[Seat, str | None]) -> tuple[Seat, ...]:
        """The seats that the wish is about, where people stand like this."""
        asked = {key(pk) for pk in self.segments}
        out, spot = key(self.out.pk) if self.out else None, key(self.spot.pk) if self.spot else None
        return tuple(
            sorted(
                (g, s)
                for (g, s), member in seats.items()
                if (not asked or g in asked) and member == out and (out or s == spot)
            )
        )


def moves_of(choice: Choice) -> frozenset[tuple[str, str, str]]:
    """(segment, spot, member) of everybody whom the choice moves."""
    return frozenset((move.segment, move.spot, move.member) for move in choice.moves)


def open_desk(event: Event) -> Desk | None:
    """The event's newest revision, ready for questions; None before the first publication."""
    lineup = lineup_queries.published(event)
    if lineup is None:
        return None
    lineup.event = event
    built = build_to_show(event)
    field = Field(built.problem, seats_of(placements_of(lineup)), learning_of(built))
    return Desk(lineup, built, field, clock(event))


def learning_of(built: Built) -> Learning:
    """What the spots of the event's shows ask of the members."""
    shows = {g: key(s.show_id) for g, s in built.segments.items() if s.show_id in built.versions}
    return Learning(shows, built.loads)


def open_seats_of(desk: Desk, spot: int, segments: Collection[str]) -> tuple[Seat, ...]:
    """Where the spot (id) is open in the segments."""
    return tuple(s for s in open_seats(desk.field, segments) if s[1] == key(spot))


def choices_for(desk: Desk, seats: tuple[Seat, ...], out: str | None) -> list[Choice]:
    """Who could take the seats, without whoever is ``out``: directly in order, then chains that
    cost fewer sets."""
    if not seats:
        return []
    return direct_choices_for(desk, seats, out) + chain_choices(desk.field, seats, out)


def direct_choices_for(desk: Desk, seats: tuple[Seat, ...], out: str | None) -> list[Choice]:
    """Who could take the seats directly, in order."""
    return direct_choices(desk.field, seats, out) if seats else []


@dataclass(frozen=True)
class Back:
    """A change whose member is available again in all that is not over, or noted as here though
    they are entered as out (``is_out``). ``as_left`` while the spots stand as the change left
    them, so that it can be taken back; nothing moves by itself. ``noted`` is the latest word of
    the attendance about them."""

    change: DayChange
    as_left: bool
    is_out: bool = False
    noted: str = ""


def who_is_back(desk: Desk) -> list[Back]:
    """Whoever is available again or noted as here, and marches nowhere in a segment that a change
    took them out of."""
    changes = DayChange.objects.filter(
        event=desk.event, undone_at__isnull=True, member_out__isnull=False
    ).select_related("member_out__person", "made_by")
    away = {m.key: m.away for m in desk.built.problem.members}

    def is_back(change: DayChange, rows: Sequence[Sequence[int | None]]) -> bool:
        member = key(change.member_out_id or 0)
        return member in away and not any(key(g or 0) in away[member] for g, *_ in rows)

    found: dict[int | None, Back] = {}
    for change in changes.order_by("made_at", "pk"):
        rows = change.seats_in(desk.clock.ids)
        here = desk.noted.get(change.member_out_id or 0, Presence())
        available = bool(rows) and is_back(change, rows)
        came = here.is_here and here.at is not None and here.at > change.made_at
        if rows and (available or came) and _is_missed(desk, change, rows):
            as_left = stands_as_after(desk.field.seats, rows)
            found[change.member_out_id] = Back(change, as_left, not available, presence_word(here))
    return list(found.values())


def _is_missed(desk: Desk, change: DayChange, rows: Sequence[Sequence[int | None]]) -> bool:
    """True where the member stood in a segment before the change and stands in it nowhere now."""
    who = key(change.member_out_id or 0)
    stood = {key(g or 0) for g, _, before, _ in rows if before == change.member_out_id}
    return not stood <= {g for (g, _), member in desk.field.seats.items() if member == who}


def stands_as_after(seats: Mapping[Seat, str | None], rows: Sequence[Sequence[int | None]]) -> bool:
    """True while the rows of a change ([segment, spot, before, after]) stand as it left them."""
    return all(
        seats.get((key(g or 0), key(s or 0))) == (key(after) if after else None)
        for g, s, _, after in rows
    )
