"""Events, their segments, and who comes along."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from typing import Protocol
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from bandops.lib import clocks
from bandops.lib.bounds import between, within
from bandops.lib.validators import validate_time_zone
from drill.events.enums import MARCHING, EventKind, SegmentKind, TravelRole, TravelState
from drill.field.enums import FieldType
from drill.shows.models import Show, ShowVersion
from roster.people.models import Member, Season

MOST_TRAVELLERS = 10_000


class Part(Protocol):
    """What lasts from a time of an event's day to a later one, be it after midnight."""

    @property
    def starts(self) -> datetime.time: ...

    @property
    def ends(self) -> datetime.time: ...

    @property
    def starts_fold(self) -> bool: ...

    @property
    def ends_fold(self) -> bool: ...


class Event(models.Model):
    """A performance or a rehearsal on a date; times are local to ``time_zone``.

    ``call_fold`` is true where the clocks are put back and the call is the second of the two
    moments that show its time.
    """

    season = models.ForeignKey(Season, on_delete=models.PROTECT, related_name="events")
    name = models.CharField(max_length=100)
    kind = models.CharField(max_length=10, choices=EventKind.choices, default=EventKind.GAME)
    venue = models.CharField(max_length=100, blank=True)
    date = models.DateField()
    time_zone = models.CharField(max_length=64, validators=[validate_time_zone])
    call_time = models.TimeField(null=True, blank=True)
    call_fold = models.BooleanField(default=False, editable=False)
    cut_off = models.DateTimeField(null=True, blank=True)
    field_type = models.CharField("field", max_length=40, default=FieldType.HASH_60)
    uniform = models.CharField(max_length=200, blank=True)
    travel_limit = models.PositiveSmallIntegerField(
        null=True, blank=True, validators=between(1, MOST_TRAVELLERS)
    )
    must_travel = models.ManyToManyField(Member, blank=True, related_name="must_travel_to")

    audit_said = {
        "save event": "saved {name}",
        "remove event": "removed {name}",
        "choose who must travel": "chose who must travel",
        "copy event": "copied an event to {name}, {date}",
    }

    class Meta:
        ordering = ["date", "call_time", "id"]
        constraints = [
            models.UniqueConstraint(fields=["season", "name", "date"], name="event_once_a_day"),
            models.CheckConstraint(
                condition=within("travel_limit", 1, MOST_TRAVELLERS), name="travel_limit_in_bounds"
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.time_zone)

    def local(self, time: datetime.time, fold: bool = False) -> datetime.datetime:
        """That time of the event's day, in its zone; ``fold`` for the second of two such."""
        return self._moment(self.date, time, fold)

    def _moment(self, day: datetime.date, time: datetime.time, fold: bool) -> datetime.datetime:
        return datetime.datetime.combine(day, time.replace(fold=fold), tzinfo=self.zone)

    @property
    def called_at(self) -> datetime.datetime | None:
        return self.local(self.call_time, self.call_fold) if self.call_time else None

    @property
    def day_starts_at(self) -> datetime.datetime:
        return self.local(datetime.time.min)

    def span(self, part: Part) -> tuple[datetime.datetime, datetime.datetime]:
        """From when to when a part lasts; what passes midnight ends on the next day."""
        first, last = self.days_of(part.starts, part.ends)
        return (
            self._moment(first, part.starts, part.starts_fold),
            self._moment(last, part.ends, part.ends_fold),
        )

    def days_of(
        self, starts: datetime.time, ends: datetime.time
    ) -> tuple[datetime.date, datetime.date]:
        """The days on which a part with these times starts and ends."""
        over_night = clocks.passes_midnight(starts, ends)
        return self.date, clocks.next_day(self.date) if over_night else self.date

    def overlap(self, one: Part, other: Part) -> bool:
        """True where two parts of the event share time."""
        first, last = self.span(one)
        starts, ends = self.span(other)
        return first.timestamp() < ends.timestamp() and starts.timestamp() < last.timestamp()

    def over_from(self, parts: Iterable[Part]) -> datetime.datetime:
        """When the event is over, by its parts; without any, when its day is."""
        ends = [self.span(part)[1] for part in parts]
        # Two times of one zone would compare by the clock on the wall.
        day_over = self._moment(clocks.next_day(self.date), datetime.time.min, False)
        return max(ends, key=datetime.datetime.timestamp, default=day_over)

    def is_over(self, now: datetime.datetime | None = None) -> bool:
        """True once the last segment has ended, by the event's own clock."""
        return self.over_from(self.segments.all()) <= (now or timezone.now())

    def today(self) -> datetime.date:
        """The day it is where the event is."""
        return timezone.localdate(timezone=self.zone)


class Segment(models.Model):
    """A part of an event, with its own lineup. One that ends at or before its start ends after
    midnight; ``starts_fold`` and ``ends_fold`` as an event's ``call_fold``. ``times_proposed`` is
    true while nobody has said its times."""

    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="segments")
    order = models.PositiveSmallIntegerField()
    name = models.CharField(max_length=60)
    kind = models.CharField(max_length=10, choices=SegmentKind.choices)
    show = models.ForeignKey(
        Show, null=True, blank=True, on_delete=models.PROTECT, related_name="segments"
    )
    starts = models.TimeField()
    ends = models.TimeField()
    starts_fold = models.BooleanField(default=False, editable=False)
    ends_fold = models.BooleanField(default=False, editable=False)
    times_proposed = models.BooleanField(default=False, editable=False)

    audit_said = {
        "save segment": "saved {name} of {event}",
        "remove segment": "removed {name} from {event}",
    }

    class Meta:
        ordering = ["event", "order"]
        constraints = [
            models.UniqueConstraint(fields=["event", "name"], name="segment_name_once"),
            models.CheckConstraint(
                condition=clocks.has_length(),
                name="segment_has_length",
                violation_error_message="The segment must end after it starts.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def clean(self) -> None:
        """No segment lasts longer than can be meant."""
        clocks.refuse_too_long(self.starts, self.ends)

    @property
    def marches(self) -> bool:
        """True when the segment has spots to fill."""
        return self.kind in MARCHING


class TravelList(models.Model):
    """Who goes along. Once posted, members who are not on it cannot march the event."""

    event = models.OneToOneField(Event, on_delete=models.CASCADE, related_name="travel_list")
    state = models.CharField(max_length=10, choices=TravelState.choices, default=TravelState.DRAFT)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.SET_NULL, related_name="+"
    )
    posted_at = models.DateTimeField(null=True)

    audit_said = {
        "make travel list": "made the travel list for {event}",
        "fill travel list": "filled the travel list for {event}",
        "post travel list": "posted the travel list for {event}",
        "take travel list back": "took the travel list for {event} back",
    }

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(state=TravelState.DRAFT, posted_at__isnull=True)
                | Q(state=TravelState.POSTED, posted_at__isnull=False),
                name="posted_travel_list_has_time",
            ),
        ]

    def __str__(self) -> str:
        return f"travel list of {self.event}"


class Traveller(models.Model):
    """A member on the list, and as what they come."""

    list = models.ForeignKey(TravelList, on_delete=models.CASCADE, related_name="travellers")
    member = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="travels")
    role = models.CharField(max_length=10, choices=TravelRole.choices)

    audit_called = "member on a travel list"
    audit_said = {
        "fill travel list": "filled a travel list",
        "add to travel list": "put {member} on the travel list",
        "take off travel list": "took {member} off the travel list",
    }

    class Meta:
        ordering = ["member__person__sort_key"]
        constraints = [models.UniqueConstraint(fields=["list", "member"], name="travels_once")]

    def __str__(self) -> str:
        return f"{self.member} ({self.role})"


class EventVersion(models.Model):
    """A version of a show's drill that one event marches, before all others of the show."""

    version = models.OneToOneField(ShowVersion, on_delete=models.CASCADE, related_name="at_event")
    event = models.ForeignKey(Event, on_delete=models.CASCADE, related_name="own_versions")

    audit_called = "drill for one event"
    audit_said = {
        "close up a line": "closed up a line for {event}",
        "cut a show": "cut the show for {event}",
        "undo a change of the drill": "undid a change of the drill for {event}",
        "restore the drill": "restored the drill for {event}",
    }

    def __str__(self) -> str:
        return f"{self.version} at {self.event}"
