"""Two members change places in the published lineup, in one step."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.events.models import Event
from drill.gameday.models import Clash
from drill.gameday.queries import clock_to_change
from drill.gameday.services.clashes import has_moved, make_card
from drill.gameday.services.desk import Desk, Wish, open_desk
from drill.gameday.services.fills import (
    Outcome,
    known,
    published_or_refused,
    refuse_taken_back,
)
from drill.gameday.services.noting import note_change
from drill.lineup.core import exchanges
from drill.lineup.core.changes import MemberChange, member_changes, seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.core.rules import WhyNot
from drill.lineup.models import Lineup
from drill.lineup.services.proposals import placements_of
from drill.publishing.services.revising import revise
from roster.people.models import Member


@dataclass(frozen=True)
class Swap:
    """``first`` and ``second`` change places in the segments (ids), or in all that are not over
    where none is named; ``seen`` is the revision they looked at."""

    first: Member
    second: Member
    seen: int
    key: uuid.UUID
    segments: frozenset[int] = frozenset()
    at: datetime.datetime = field(default_factory=timezone.now)


@dataclass(frozen=True)
class Planned:
    """What a swap would do: seats with their new members, who moves, and what forbids it."""

    seats: Mapping[Seat, str | None]
    changes: tuple[MemberChange, ...]
    faults: tuple[tuple[str, Seat, tuple[WhyNot, ...]], ...]
    """member, seat, why they cannot march it"""


def plan_swap(desk: Desk, first: Member, second: Member, segments: Collection[str]) -> Planned:
    """The swap as it would be now."""
    now = desk.field.seats
    seats = exchanges.swap(now, key(first.pk), key(second.pk), segments)
    return Planned(seats, member_changes(now, {**now, **seats}), tuple(_faults(desk, seats)))


def swap(*, actor: User, event: Event, wish: Swap, reason: str = "") -> Outcome:
    """Do it and publish; sent twice it happens once. Refused where neither stands, where one may
    not march the other's spot, or where it would do something else than on the page seen; an
    alternate who marches another spot since then becomes a card to decide."""
    with recorded(actor, "swap on the day"):
        Event.objects.select_for_update().get(pk=event.pk)
        done = known(wish.key)
        if done is not None:
            refuse_taken_back(done.change)
            return done
        last = published_or_refused(event)
        segments = clock_to_change(event, wish.segments).keys
        then = _as_seen(event, last, wish)
        if then is not None:
            card = _late_card(actor, event, last, wish, _swapped(wish, then, segments))
            if card is not None:
                return Outcome(clash=card)
        desk = open_desk(event)
        assert desk is not None
        seats = _planned(desk, wish, segments, then).seats
        made = revise(actor=actor, event=event, built=desk.built, seats=seats, reason=reason)
        change = note_change(actor, event, last, made, None, None, wish.key, noted_at=wish.at)
        return Outcome(change)


def _faults(
    desk: Desk, seats: Mapping[Seat, str | None]
) -> list[tuple[str, Seat, tuple[WhyNot, ...]]]:
    facts = desk.field.facts
    found: list[tuple[str, Seat, tuple[WhyNot, ...]]] = []
    for seat, who in sorted(seats.items()):
        member = facts.members.get(who or "")
        if who and member is None:
            found.append((who, seat, (WhyNot.AWAY,)))
        elif member and (why := facts.why_not(member, seat[0], facts.spots[seat[1]])):
            found.append((member.key, seat, why))
    return found


def seats_asked(desk: Desk, wish: Swap) -> Mapping[Seat, str | None]:
    """What the director is asked to do: Refused where it could not be done as things stand."""
    segments = clock_to_change(desk.event, wish.segments).keys
    planned = _planned(desk, wish, segments, _as_seen(desk.event, desk.lineup, wish))
    if planned.faults:
        raise Refused(
            f"{wish.first} and {wish.second} cannot march each other's spots: look again."
        )
    return planned.seats


def _planned(
    desk: Desk,
    wish: Swap,
    segments: Collection[str],
    then: Mapping[Seat, str | None] | None,
) -> Planned:
    planned = plan_swap(desk, wish.first, wish.second, segments)
    if not planned.seats:
        raise Refused(f"{wish.first} and {wish.second} have nothing to swap.")
    if then is not None and _swapped(wish, then, segments) != planned.seats:
        raise Refused(f"{wish.first} or {wish.second} just moved: look again, then swap.")
    return planned


def _as_seen(event: Event, last: Lineup, wish: Swap) -> Mapping[Seat, str | None] | None:
    """Who stood where on the page; None where it shows the newest revision."""
    if last.number == wish.seen:
        return None
    seen = event.lineups.filter(number=wish.seen).first()
    return seats_of(placements_of(seen)) if seen else {}


def _swapped(
    wish: Swap, seats: Mapping[Seat, str | None], segments: Collection[str]
) -> dict[Seat, str | None]:
    return exchanges.swap(seats, key(wish.first.pk), key(wish.second.pk), segments)


def _late_card(
    actor: User, event: Event, last: Lineup, wish: Swap, seen: Mapping[Seat, str | None]
) -> Clash | None:
    """Where only one of the two stood on the page and the other, who was to take those seats
    (``seen``), has moved since."""
    now, coming = seats_of(placements_of(last)), set(seen.values())
    meant = {seat: now[seat] for seat in seen if seat in now}
    if len(coming) != 1 or not meant:
        return None
    into = wish.first if key(wish.first.pk) in coming else wish.second
    asked = Wish(None, into, None, wish.seen, wish.key, wish.at, wish.segments)
    if not has_moved(event, last, meant, asked):
        return None
    return make_card(actor, event, last, asked, meant)
