"""Pins of somebody who is out: lifted where they are out, and put back with them."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from drill.events.enums import MARCHING
from drill.events.models import Event, Segment
from drill.gameday.models import DayChange
from drill.lineup.models import Lineup, Pin
from drill.lineup.services.orders import lift_pins, pins_at
from roster.people.models import Member

Pins = Sequence[tuple[int | None, int]]
"""(segment or none, spot) ids"""


def drop_pins(event: Event, last: Lineup, member: Member, segments: Sequence[Segment]) -> Pins:
    """A pin of somebody who is out, where they stand, holds nobody in these segments."""
    spots = last.rows.filter(member=member, segment__in=segments).values("spot")
    pins = Pin.objects.filter(event=event, member=member, spot__in=spots)
    return [(pin.segment_id, pin.spot_id) for pin in lift_pins(event, pins, *segments)]


def pin_again(change: DayChange, segments: Collection[int]) -> None:
    """The pins that fell with a change, in these segments, where nobody has pinned anybody
    since."""
    event, member = change.event, change.member_out
    if member is None:
        return
    whole = _marching(event) <= set(segments)
    for segment, spot in change.pins:
        if segment is not None:
            _pin_in(event, {segment} & set(segments), spot, member)
        elif not whole:
            _pin_in(event, _marching(event) & set(segments), spot, member)
        elif not pins_at(event, None).filter(spot=spot).exclude(member=member).exists():
            pins_at(event, None).filter(spot=spot).delete()
            Pin.objects.create(event=event, spot_id=spot, member=member)


def _marching(event: Event) -> set[int]:
    return set(event.segments.filter(kind__in=MARCHING).values_list("pk", flat=True))


def _pin_in(event: Event, segments: Collection[int], spot: int, member: Member) -> None:
    for segment in event.segments.filter(pk__in=segments):
        if not pins_at(event, segment).filter(spot=spot).exists():
            Pin.objects.create(event=event, segment=segment, spot_id=spot, member=member)
