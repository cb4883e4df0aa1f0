"""A rehearsal two days before the small band's game, and the clock at it."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from contextlib import contextmanager

import time_machine

from drill.events.models import Event
from drill.rehearsals.models import RehearsalBlock
from drill.shows.models import DrillSet, Show, ShowVersion
from tests.factories import Band

DAY = datetime.date(2099, 10, 15)


def make_rehearsal(band: Band, day: datetime.date = DAY) -> Event:
    """Thursday from 4:15 PM, one block in full."""
    event = Event.objects.create(
        season=band.season,
        name="Rehearsal Thursday",
        kind="rehearsal",
        date=day,
        time_zone="America/Chicago",
        call_time=datetime.time(16, 15),
        venue="Mill Lane practice field",
    )
    RehearsalBlock.objects.create(
        event=event,
        starts=datetime.time(16, 30),
        ends=datetime.time(18),
        what="Halftime in full",
        show=tidewheel(band),
    )
    return event


def tidewheel(band: Band) -> Show:
    return Show.objects.get(season=band.season, name="Tidewheel")


def add_sets(show: Show, *labels: str) -> ShowVersion:
    """A version in use with sets of these labels."""
    order = show.versions.count() + 1
    version = ShowVersion.objects.create(show=show, label=f"v{order}", order=order)
    for number, label in enumerate(labels, 1):
        DrillSet.objects.create(version=version, order=number, label=label, counts=8)
    return version


@contextmanager
def clock(hour: int = 19, minute: int = 0, day: datetime.date = DAY) -> Iterator[None]:
    """It is that time in Chicago, in daylight-saving time (five hours behind UTC)."""
    local = datetime.datetime.combine(day, datetime.time(hour, minute))
    with time_machine.travel(
        local.replace(tzinfo=datetime.UTC) + datetime.timedelta(hours=5), tick=False
    ):
        yield


def moment(hour: int, minute: int = 0, day: datetime.date = DAY) -> datetime.datetime:
    """That time in Chicago, as a phone tells it."""
    local = datetime.datetime.combine(day, datetime.time(hour, minute), tzinfo=datetime.UTC)
    return local + datetime.timedelta(hours=5)
