"""The next event is found without reading the season."""

from __future__ import annotations

import datetime

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from drill.events.models import Event
from drill.events.queries import FEW, next_event
from tests.factories import Band

pytestmark = pytest.mark.django_db
NOON = datetime.datetime(2099, 10, 10, 18, tzinfo=datetime.UTC)


def game(band: Band, day: datetime.date, hour: int, name: str) -> Event:
    made = Event.objects.create(
        season=band.season,
        name=name,
        kind="game",
        date=day,
        time_zone="America/Chicago",
        call_time=datetime.time(hour),
    )
    made.segments.create(
        order=1,
        name="Stands",
        kind="stands",
        starts=datetime.time(hour),
        ends=datetime.time(hour, 30),
    )
    return made


def test_only_a_few_events_are_read(band: Band) -> None:
    Event.objects.all().delete()
    games = [game(band, datetime.date(2099, 11, n), 12, f"Game {n}") for n in range(1, 10)]
    with CaptureQueriesContext(connection) as seen:
        assert next_event(band.season, NOON) == games[0]
    assert f"LIMIT {FEW}" in seen.captured_queries[0]["sql"]
    assert len(seen) == 2, "events and their segments"


def test_many_that_ended_today_hide_none(band: Band) -> None:
    Event.objects.all().delete()
    today = NOON.date()
    for n in range(FEW + 2):
        game(band, today, 7, f"Early {n}")
    late = game(band, today, 20, "Late")
    game(band, today + datetime.timedelta(days=1), 7, "Tomorrow")
    assert next_event(band.season, NOON) == late


def test_when_all_are_over_it_is_the_last(band: Band) -> None:
    Event.objects.all().delete()
    for n in range(FEW):
        last = game(band, NOON.date() - datetime.timedelta(days=FEW - n), 7, f"Early {n}")
    assert next_event(band.season, NOON) == last
