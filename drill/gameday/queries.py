"""Reused reads of the game day."""

from __future__ import annotations

import datetime
from collections.abc import Collection
from dataclasses import dataclass

from django.utils import timezone

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.events.models import Event, Segment
from drill.events.queries import is_over
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Clock:
    """Segments of an event by its own clock: those to come or under way, and those over."""

    left: tuple[Segment, ...]
    over: tuple[Segment, ...]

    @property
    def keys(self) -> frozenset[str]:
        """Of the segments that are left."""
        return frozenset(key(segment.pk) for segment in self.left)

    def under_way(self, event: Event) -> list[Segment]:
        """Those that have begun and are not over."""
        now = timezone.now()
        return [segment for segment in self.left if event.span(segment)[0] <= now]

    @property
    def ids(self) -> frozenset[int]:
        """Of the segments that are left."""
        return frozenset(segment.pk for segment in self.left)


def clock(event: Event, asked: Collection[int] = (), now: datetime.datetime | None = None) -> Clock:
    """The segments asked for, or all where none is named; Refused where the event has none of
    them."""
    now = now or timezone.now()
    segments = [s for s in event.segments.all() if not asked or s.pk in asked]
    if asked and not segments:
        raise Refused("The event changed: choose the segments again.")
    left = tuple(s for s in segments if not is_over(s, now))
    return Clock(left, tuple(s for s in segments if is_over(s, now)))


def clock_to_change(
    event: Event, asked: Collection[int] = (), now: datetime.datetime | None = None
) -> Clock:
    """As ``clock``; Refused where all of it is over."""
    found = clock(event, asked, now)
    if not found.left:
        names = ", ".join(s.name for s in found.over) or str(event)
        raise Refused(f"{names}: this is over and stays as it was marched.")
    return found


def open_clashes(event: Event, ranks: Collection[int] | None = None) -> list[Clash]:
    """The event's cards to decide, what was wanted first before the rest; of some ranks, those
    about one of their spots."""
    rows = Clash.objects.filter(event=event, state=ClashState.OPEN).select_related(
        "spot__rank",
        "standing__person",
        "wanted__person",
        "mover__person",
        "member_out__person",
        "wanted_by",
    )
    rows = rows.order_by("wanted_at", "pk")
    if ranks is None or not rows:
        return list(rows)
    own = set(Spot.objects.filter(rank__in=ranks).values_list("pk", flat=True))
    return [c for c in rows if own & {c.spot_id, *(spot for _, spot, *_ in (*c.seats, *c.leaves))}]
