"""The game-day desk: somebody drops out, somebody steps in, at once and with one step back."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.absences.enums import COUNTING, AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.absences.services.absences import withdraw_absence
from drill.events.models import Event, Segment
from drill.gameday.core.fills import (
    Choice,
    Field,
    Learning,
    chain_choices,
    direct_choices,
    seats_of_member,
)
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash, DayChange
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup, Pin
from drill.lineup.services.orders import pins_at
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.revising import revise
from roster.people.models import Member
from roster.ranks.models import Spot


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


@dataclass(frozen=True)
class Outcome:
    """A change, or the card that two wishes became."""

    change: DayChange | None = None
    clash: Clash | None = None


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


def fill(*, actor: User, event: Event, wish: Wish) -> Outcome:
    """The member is out and the wish is done: absence, new revision, notices, in one step.

    Sent twice it happens once. Where somebody else filled a seat meanwhile, nothing is
    overwritten: both wishes become one card to decide.
    """
    with recorded(actor, "fill on the day"):
        Event.objects.select_for_update().get(pk=event.pk)
        done = _known(wish.key)
        if done is not None:
            _refuse_taken_back(done.change)
            return done
        last = lineup_queries.published(event)
        if last is None:
            raise Refused("Nothing is published for this event yet.")
        clash = _clash(actor, event, last, wish)
        # Whoever fills the spot: that the member is out is said all the same.
        absence = _report_out(actor, event, wish)
        if clash is not None:
            return Outcome(clash=clash)
        pins = _drop_pins(event, last, wish.out)
        desk = open_desk(event)
        assert desk is not None
        made = revise(actor=actor, event=event, built=desk.built, seats=_seats(desk, wish))
        return Outcome(_note(actor, event, last, made, wish.out, absence, wish.key, pins))


def undo_change(*, actor: User, change: DayChange) -> Lineup:
    """Put everybody back where they stood before the change, as a new revision.

    The absence that came with it is withdrawn; refused when a seat has changed hands since.
    """
    with recorded(actor, "undo change of the day"):
        event = change.event
        Event.objects.select_for_update().get(pk=event.pk)
        change = DayChange.objects.select_for_update().get(pk=change.pk)
        if change.undone_at is not None:
            raise Refused("This change was taken back already.")
        last = lineup_queries.published(event)
        assert last is not None
        _refuse_changed_since(last, change)
        if change.absence is not None and change.absence.state in COUNTING:
            withdraw_absence(actor=actor, absence=change.absence)
        seats = {
            (key(g), key(s)): key(before) if before else None for g, s, before, _ in change.seats
        }
        _pin_again(change)
        made = revise(actor=actor, event=event, built=build(event), seats=seats)
        change.undone_by, change.undone_at = actor, timezone.now()
        change.save()
    return made


def decide_clash(*, actor: User, clash: Clash, take: bool) -> Clash:
    """Staff choose between who stands there and who was wanted."""
    with recorded(actor, "decide between two fills"):
        event = clash.event
        Event.objects.select_for_update().get(pk=event.pk)
        clash = Clash.objects.select_for_update().get(pk=clash.pk)
        if clash.state != ClashState.OPEN:
            raise Refused("Somebody has decided this already.")
        if take:
            last = lineup_queries.published(event)
            assert last is not None
            _refuse_outdated(last, clash)
            seats: dict[Seat, str | None] = {
                (key(g), key(s)): key(clash.wanted_id) for g, s, *_ in clash.seats
            }
            made = revise(actor=actor, event=event, built=build(event), seats=seats)
            _note(actor, event, last, made, clash.member_out, None, uuid.uuid4())
        clash.state = ClashState.CHANGED if take else ClashState.KEPT
        clash.decided_by, clash.decided_at = actor, timezone.now()
        clash.save()
    return clash


def who_is_back(desk: Desk) -> list[DayChange]:
    """Changes whose member is available again: nothing moves by itself, staff put them back."""
    changes = DayChange.objects.filter(
        event=desk.event, undone_at__isnull=True, member_out__isnull=False
    ).select_related("member_out__person", "made_by")
    away = {m.key: m.away for m in desk.built.problem.members}

    def is_back(change: DayChange) -> bool:
        member = key(change.member_out_id or 0)
        return member in away and not any(key(g) in away[member] for g, *_ in change.seats)

    return [c for c in changes if is_back(c) and _stands_as_after(desk.field.seats, c)]


def _stands_as_after(seats: Mapping[Seat, str | None], change: DayChange) -> bool:
    return all(
        seats.get((key(g), key(s))) == (key(after) if after else None)
        for g, s, _, after in change.seats
    )


def _refuse_taken_back(change: DayChange | None) -> None:
    if change is not None and change.undone_at is not None:
        at = change.undone_at.astimezone(change.event.zone)
        raise Refused(f"This was taken back at {at:%H:%M}: open the desk again to do it anew.")


def _known(wish_key: uuid.UUID) -> Outcome | None:
    change = DayChange.objects.filter(key=wish_key).first()
    clash = Clash.objects.filter(key=wish_key).first()
    return Outcome(change, clash) if change or clash else None


def _clash(actor: User, event: Event, last: Lineup, wish: Wish) -> Clash | None:
    """A card, when the seats the wish is about have got somebody else since it was made."""
    seen = Lineup.objects.filter(event=event, number=wish.seen).first()
    if seen is None:
        raise Refused("The page is of a revision that never was: open the desk again.")
    if seen.pk == last.pk:
        return None
    now = seats_of(placements_of(last))
    theirs = [s for s, m in seats_of(placements_of(seen)).items() if m == key(wish.out.pk)]
    others = {s: now.get(s) for s in theirs if now.get(s) not in (None, key(wish.out.pk))}
    if not others or wish.into is None or set(others.values()) == {key(wish.into.pk)}:
        return None
    standing = min(m for m in others.values() if m)
    return Clash.objects.create(
        event=event,
        key=wish.key,
        spot=Spot.objects.get(pk=int(min(others)[1])),
        member_out=wish.out,
        standing_id=int(standing),
        wanted=wish.into,
        seats=[[int(g), int(s), int(m)] for (g, s), m in sorted(others.items()) if m],
        wanted_by=actor,
        wanted_at=wish.at,
    )


def _report_out(actor: User, event: Event, wish: Wish) -> Absence | None:
    """The absence, unless the member is away already in every segment of the event."""
    built = build(event)
    away = {m.key: m.away for m in built.problem.members}.get(key(wish.out.pk), frozenset())
    if {g.key for g in built.problem.segments} <= away:
        return None
    return Absence.objects.create(
        member=wish.out,
        event=event,
        kind=AbsenceKind.OUT,
        state=AbsenceState.CONFIRMED,
        reported_by=actor,
        key=wish.key,
    )


def _seats(desk: Desk, wish: Wish) -> dict[Seat, str | None]:
    """Seat -> its new member, by the choice that the wish names."""
    seats = seats_of_member(desk.field, key(wish.out.pk))
    if not seats:
        raise Refused(f"{wish.out} stands nowhere in revision {desk.lineup.number}.")
    after: dict[Seat, str | None] = dict.fromkeys(seats)
    if wish.into is None:
        return after
    into, mover = key(wish.into.pk), key(wish.mover.pk) if wish.mover else None
    for choice in choices(desk, wish.out):
        movers = {move.member for move in choice.moves} - {into}
        if choice.member == into and movers == ({mover} if mover else set()):
            after |= {(move.segment, move.spot): move.member for move in choice.moves}
            return after
    raise Refused(f"{wish.into} can no longer step in for {wish.out} like this: look again.")


Pins = Sequence[tuple[int | None, int]]
"""(segment or none, spot) ids"""


def _drop_pins(event: Event, last: Lineup, member: Member) -> Pins:
    """A pin of somebody who is out, where they stand, holds nobody."""
    spots = last.rows.filter(member=member).values("spot")
    pins = Pin.objects.filter(event=event, member=member, spot__in=spots)
    dropped = list(pins.values_list("segment_id", "spot_id"))
    pins.delete()
    return dropped


def _pin_again(change: DayChange) -> None:
    """The pins that fell with a change, where nobody has pinned anybody since."""
    member = change.member_out
    if member is None:
        return
    for segment, spot in change.pins:
        where = Segment.objects.get(pk=segment) if segment is not None else None
        if not pins_at(change.event, where).filter(spot=spot).exists():
            Pin.objects.create(event=change.event, segment_id=segment, spot_id=spot, member=member)


def _note(
    actor: User,
    event: Event,
    last: Lineup,
    made: Lineup,
    out: Member | None,
    absence: Absence | None,
    change_key: uuid.UUID,
    pins: Pins = (),
) -> DayChange:
    before, after = seats_of(placements_of(last)), seats_of(placements_of(made))
    changed = sorted(s for s in before if before[s] != after.get(s))

    def row(member: str | None) -> int | None:
        return int(member) if member else None

    return DayChange.objects.create(
        event=event,
        key=change_key,
        before=last,
        after=made,
        seats=[[int(g), int(s), row(before[g, s]), row(after[g, s])] for g, s in changed],
        pins=[list(pin) for pin in pins],
        member_out=out,
        absence=absence,
        made_by=actor,
    )


def _refuse_outdated(last: Lineup, clash: Clash) -> None:
    """The card named who stands there; nobody else is overwritten, and no other spot emptied."""
    now, wanted = seats_of(placements_of(last)), key(clash.wanted_id)
    stood = {
        (key(g), key(s)): key(m[0] if m else clash.standing_id or 0) for g, s, *m in clash.seats
    }
    if any(now.get(seat) not in (None, wanted, member) for seat, member in stood.items()):
        raise Refused(f"{clash.spot} has changed hands again: change it on the desk instead.")
    segments = {segment for segment, _ in stood}
    if any(m == wanted and g in segments and (g, s) not in stood for (g, s), m in now.items()):
        raise Refused(f"{clash.wanted} marches another spot by now: change it on the desk instead.")


def _refuse_changed_since(last: Lineup, change: DayChange) -> None:
    now = seats_of(placements_of(last))
    if not _stands_as_after(now, change):
        raise Refused("These spots have changed hands since: change them on the desk instead.")
