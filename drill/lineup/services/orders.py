"""Staff's orders for an event: pins, blocks, spots left open, who must travel."""

from __future__ import annotations

from django.db.models import Q, QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.events.enums import MARCHING
from drill.events.models import Event, Segment
from drill.lineup.core.rules import Facts
from drill.lineup.models import Block, OpenSeat, Pin
from drill.lineup.services.problem_builder import build
from drill.lineup.wording import CANNOT, CANNOT_ALONG
from roster.people.models import Member
from roster.ranks.models import Spot


def pin_member(
    *, actor: User, event: Event, segment: Segment | None, spot: Spot, member: Member
) -> Pin:
    """The member must march the spot; refused with the reason when they cannot."""
    with recorded(actor, "pin member"):
        Event.objects.select_for_update().get(pk=event.pk)
        _refuse_impossible(event, segment, spot, member)
        pins = Pin.objects.filter(event=event)
        pins.filter(spot=spot, segment=segment).delete()
        pins.filter(member=member, segment=segment).delete()
        return Pin.objects.create(event=event, segment=segment, spot=spot, member=member)


def block_member(
    *, actor: User, event: Event, segment: Segment | None, spot: Spot | None, member: Member
) -> Block:
    """The member must not march the spot, or none at all; a pin that says otherwise falls."""
    with recorded(actor, "block member"):
        Event.objects.select_for_update().get(pk=event.pk)
        pins = Pin.objects.filter(event=event, member=member)
        lift_pins(event, pins.filter(spot=spot) if spot else pins, segment)
        block, _ = Block.objects.get_or_create(
            event=event, segment=segment, spot=spot, member=member
        )
        return block


def leave_open(*, actor: User, event: Event, segment: Segment | None, spot: Spot) -> OpenSeat:
    """Nobody marches the spot, by choice; a pin there falls."""
    with recorded(actor, "leave spot open"):
        Event.objects.select_for_update().get(pk=event.pk)
        lift_pins(event, Pin.objects.filter(event=event, spot=spot), segment)
        seat, _ = OpenSeat.objects.get_or_create(event=event, segment=segment, spot=spot)
        return seat


def pins_at(event: Event, segment: Segment | None) -> QuerySet[Pin]:
    """The pins that speak of a segment; all of the event's where none is named."""
    pins = Pin.objects.filter(event=event)
    return pins if segment is None else pins.filter(Q(segment=segment) | Q(segment=None))


def lift_pins(event: Event, pins: QuerySet[Pin], *segments: Segment | None) -> list[Pin]:
    """Lift these pins in the segments (None: in all): those that held there. A pin for the whole
    event goes on in the others."""
    lifted = list(
        pins if None in segments else pins.filter(Q(segment__in=segments) | Q(segment=None))
    )
    pins.filter(pk__in=[pin.pk for pin in lifted]).delete()
    named = {segment.pk for segment in segments if segment is not None}
    rest = [] if None in segments else _marching(event).exclude(pk__in=named)
    for pin in lifted:
        for segment in rest if pin.segment_id is None else ():
            where = {"event": event, "segment": segment, "spot_id": pin.spot_id}
            Pin.objects.get_or_create(**where, defaults={"member_id": pin.member_id})
    return lifted


def _marching(event: Event) -> QuerySet[Segment]:
    return event.segments.filter(kind__in=MARCHING)


def lift_order(*, actor: User, order: Pin | Block | OpenSeat) -> None:
    """Take a pin, a block or the choice to leave a spot open back."""
    with recorded(actor, "lift order"):
        order.delete()


def _refuse_impossible(event: Event, segment: Segment | None, spot: Spot, member: Member) -> None:
    built = build(event)
    facts = Facts(built.problem)
    person = facts.members.get(key(member.pk))
    if person is None:
        raise Refused(f"{member} is not active this season.")
    if not member.may_march_on(event.date):
        raise Refused(f"{member} cannot be pinned: not cleared or not eligible for {event}.")
    for piece in built.problem.segments:
        if segment is not None and piece.key != key(segment.pk):
            continue
        reasons = facts.why_not(person, piece.key, facts.spots[key(spot.pk)])
        if reasons:
            words = CANNOT | (CANNOT_ALONG if person.key in built.at_home else {})
            text = ", ".join(words[r] for r in reasons)
            name = built.segments[piece.key].name
            raise Refused(f"{member} cannot be pinned to {spot} in {name}: {text}.")
