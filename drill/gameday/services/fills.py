"""Changes of the day: somebody drops out, somebody steps in, at once and with one step back."""

from __future__ import annotations

import datetime
import uuid
from contextlib import suppress
from dataclasses import dataclass, replace

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.dates import hour_words
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.absences.models import Absence
from drill.events.models import Event, Segment
from drill.gameday.core.fills import open_seats
from drill.gameday.models import Clash, DayChange
from drill.gameday.queries import Clock, clock, clock_to_change
from drill.gameday.services.clashes import (
    has_moved,
    is_overtaken,
    is_so_already,
    make_card,
    seats_meant,
)
from drill.gameday.services.desk import (
    Desk,
    Wish,
    choices_for,
    moves_of,
    open_desk,
    stands_as_after,
)
from drill.gameday.services.dressing import refuse_undressed
from drill.gameday.services.noting import note_change
from drill.gameday.services.pins import drop_pins, pin_again
from drill.gameday.services.putting_back import seats_back
from drill.gameday.services.reporting import report_out, take_back_out
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.overrides import refuse_unexplained
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.revising import revise
from drill.rehearsals.core.presence import Presence
from drill.rehearsals.services.presence import presences


@dataclass(frozen=True)
class Outcome:
    """A change, or the card that the wish became; neither where nothing was left to do. ``over``
    are segments that the wish named and that had ended: they stay as they were marched."""

    change: DayChange | None = None
    clash: Clash | None = None
    over: tuple[Segment, ...] = ()
    here_at: datetime.datetime | None = None
    """when whoever was said to be out was noted as here after that: nobody moves by it"""


def fill(*, actor: User, event: Event, wish: Wish, reason: str = "") -> Outcome:
    """The member is out of the wish's segments and somebody steps in, or an open spot is filled:
    absence, new revision, notices, in one step. Segments that are over are never touched, and
    nobody is replaced who was noted as here after the wish was made: that is for the desk to see.

    Sent twice it happens once. That a member is out is kept whatever becomes of the rest. Where a
    seat was filled or given up meanwhile, or whoever steps in marches another by now, nothing is
    overwritten: both wishes become one card to decide, and so does a wish for somebody out that
    cannot be done. After the cut-off it needs a ``reason``.
    """
    with recorded(actor, "fill on the day"):
        Event.objects.select_for_update().get(pk=event.pk)
        done = known(wish.key)
        if done is not None:
            refuse_taken_back(done.change)
            return done
        refuse_unexplained(event, reason)
        last = published_or_refused(event)
        # Whatever becomes of the spot: that the member is out is said.
        absence = _said(actor, event, wish)
        at = (clock if wish.out else clock_to_change)(event, wish.segments)
        if not at.left:
            return Outcome(over=at.over)
        here_at = _seen_since(event, wish)
        if here_at is not None:
            return Outcome(here_at=here_at)
        named = at.over if wish.segments else ()
        wish = wish.within(at.ids)
        if wish.out is None and (wish.into is None or wish.spot is None):
            raise Refused("Choose who steps in.")
        act = Act(actor, event, last, at, absence, reason)
        return replace(_do(act, wish), over=named)


def _seen_since(event: Event, wish: Wish) -> datetime.datetime | None:
    """When the member was noted as here after the wish was made; None where nobody did."""
    if wish.out is None:
        return None
    found = presences([event]).get((event.pk, wish.out.pk), Presence())
    return found.at if found.is_here and found.at and found.at > wish.at else None


def keep_report(*, actor: User, event: Event, wish: Wish) -> None:
    """Only that the member is out, where the rest is not for the actor to do."""
    if wish.out is None:
        return
    with recorded(actor, "report absence"):
        Event.objects.select_for_update().get(pk=event.pk)
        _said(actor, event, wish)


def _said(actor: User, event: Event, wish: Wish) -> Absence | None:
    """The member is out of what was not over when it was said, however late it arrives; Refused
    where all of it was."""
    if wish.out is None:
        return None
    then = clock_to_change(event, wish.segments, wish.at)
    return report_out(actor, event, wish.out, then, wish.key, wish.at)


@dataclass(frozen=True)
class Act:
    """Who fills, on which revision, and what was said with it."""

    actor: User
    event: Event
    last: Lineup
    at: Clock
    absence: Absence | None
    reason: str


def _do(act: Act, wish: Wish) -> Outcome:
    """The change, the card where it cannot be, or nothing where all stands so already; an open
    spot that could not be filled when it was asked is Refused: nothing was said that could be
    lost."""
    actor, event, last = act.actor, act.event, act.last
    meant = seats_meant(event, last, wish)
    if (meant or wish.out) and is_so_already(meant, wish):
        return Outcome()
    if meant and (is_overtaken(event, meant, wish) or has_moved(event, last, meant, wish)):
        return Outcome(clash=make_card(actor, event, last, wish, meant))
    if wish.out is None:
        return Outcome(_change(act, wish))
    with suppress(Refused), recorded(actor, "fill on the day"):
        return Outcome(_change(act, wish))
    return Outcome(clash=make_card(actor, event, last, wish, meant))


def _change(act: Act, wish: Wish) -> DayChange:
    actor, event, last = act.actor, act.event, act.last
    pins = drop_pins(event, last, wish.out, act.at.left) if wish.out else ()
    desk = open_desk(event)
    assert desk is not None
    seats = seats_after(desk, wish)
    refuse_undressed(desk, seats)
    made = revise(actor=actor, event=event, built=desk.built, seats=seats, reason=act.reason)
    return note_change(actor, event, last, made, wish.out, act.absence, wish.key, pins, wish.at)


def undo_change(*, actor: User, change: DayChange, reason: str = "") -> Lineup:
    """Put everybody back where they stood before the change, as a new revision; segments that are
    over by now stay as they were marched. Where somebody may not march their spot any more, it is
    open.

    The absence that came with it is withdrawn; refused when a seat has changed hands since, and
    where nothing would change.
    """
    with recorded(actor, "undo change of the day"):
        event = change.event
        Event.objects.select_for_update().get(pk=event.pk)
        change = DayChange.objects.select_for_update().get(pk=change.pk)
        if change.undone_at is not None:
            raise Refused("This change was already taken back.")
        at = clock_to_change(event)
        rows = change.seats_in(at.ids)
        if not rows:
            raise Refused("What it changed is already over and stays as it was marched.")
        now = seats_of(placements_of(published_or_refused(event)))
        if not stands_as_after(now, rows):
            raise Refused("These spots have changed hands: change them at the desk instead.")
        take_back_out(actor, change, at)
        pin_again(change, at.ids)
        built = build(event)
        seats = seats_back(built, rows)
        if all(now.get(seat) == member for seat, member in seats.items()):
            raise Refused(
                "The member who was there can't march it now: the spot stays open. "
                "Choose somebody else at the desk."
            )
        made = revise(actor=actor, event=event, built=built, seats=seats, reason=reason)
        change.undone_by, change.undone_at = actor, timezone.now()
        change.save()
    return made


def published_or_refused(event: Event) -> Lineup:
    """The event's newest revision."""
    last = lineup_queries.published(event)
    if last is None:
        raise Refused("Nothing is published for this event yet.")
    return last


def refuse_taken_back(change: DayChange | None) -> None:
    """A wish sent again is not said to be done when staff have taken it back since."""
    if change is not None and change.undone_at is not None:
        at = hour_words(change.undone_at, change.event.zone)
        raise Refused(f"This was taken back at {at}: open the desk again to redo it.")


def known(wish_key: uuid.UUID) -> Outcome | None:
    """What became of a wish that was sent before."""
    change = DayChange.objects.filter(key=wish_key).first()
    clash = Clash.objects.filter(key=wish_key).first()
    return Outcome(change, clash) if change or clash else None


def seats_after(desk: Desk, wish: Wish) -> dict[Seat, str | None]:
    """Seat -> its new member, by the choice that the wish names."""
    out = key(wish.out.pk) if wish.out else None
    seats = wish.seats_in(desk.field.seats)
    if out is None:
        open_now = open_seats(desk.field, desk.clock.keys)
        seats = tuple(seat for seat in seats if seat in open_now)
    if not seats:
        raise Refused(_nothing_to_fill(desk, wish))
    after: dict[Seat, str | None] = dict.fromkeys(seats)
    if wish.into is None:
        return after
    into, mover = key(wish.into.pk), key(wish.mover.pk) if wish.mover else None
    for choice in choices_for(desk, seats, out):
        movers = {move.member for move in choice.moves} - {into}
        if choice.member != into or movers != ({mover} if mover else set()):
            continue
        if wish.moves in (None, moves_of(choice)):
            after |= {(move.segment, move.spot): move.member for move in choice.moves}
            return after
    where = f"for {wish.out}" if wish.out else f"at {wish.spot}"
    raise Refused(f"{wish.into} can no longer step in {where} like this: look again.")


def _nothing_to_fill(desk: Desk, wish: Wish) -> str:
    segments = ", ".join(s.name for s in desk.clock.left if s.pk in wish.segments)
    if wish.out is None:
        return f"{wish.spot} is no longer open in {segments}: look again."
    return f"{wish.out} does not march in revision {desk.lineup.number} ({segments})."
