"""Changes of the day: somebody drops out, somebody steps in, at once and with one step back."""

from __future__ import annotations

import uuid
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import hour_words
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.absences.enums import COUNTING, AbsenceKind, AbsenceState
from drill.absences.models import Absence
from drill.absences.services.absences import withdraw_absence
from drill.events.models import Event
from drill.gameday.core.fills import seats_of_member
from drill.gameday.models import Clash, DayChange
from drill.gameday.services.clashes import clash_card
from drill.gameday.services.desk import Desk, Wish, choices, open_desk, stands_as_after
from drill.gameday.services.noting import drop_pins, note_change, pin_again
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.revising import revise


@dataclass(frozen=True)
class Outcome:
    """A change, or the card that two wishes became."""

    change: DayChange | None = None
    clash: Clash | None = None


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
        clash = clash_card(actor, event, last, wish)
        # Whoever fills the spot: that the member is out is said all the same.
        absence = _report_out(actor, event, wish)
        if clash is not None:
            return Outcome(clash=clash)
        pins = drop_pins(event, last, wish.out)
        desk = open_desk(event)
        assert desk is not None
        made = revise(actor=actor, event=event, built=desk.built, seats=_seats(desk, wish))
        return Outcome(note_change(actor, event, last, made, wish.out, absence, wish.key, pins))


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
        pin_again(change)
        made = revise(actor=actor, event=event, built=build(event), seats=seats)
        change.undone_by, change.undone_at = actor, timezone.now()
        change.save()
    return made


def _refuse_taken_back(change: DayChange | None) -> None:
    if change is not None and change.undone_at is not None:
        at = hour_words(change.undone_at, change.event.zone)
        raise Refused(f"This was taken back at {at}: open the desk again to do it anew.")


def _known(wish_key: uuid.UUID) -> Outcome | None:
    change = DayChange.objects.filter(key=wish_key).first()
    clash = Clash.objects.filter(key=wish_key).first()
    return Outcome(change, clash) if change or clash else None


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


def _refuse_changed_since(last: Lineup, change: DayChange) -> None:
    now = seats_of(placements_of(last))
    if not stands_as_after(now, change):
        raise Refused("These spots have changed hands since: change them on the desk instead.")
