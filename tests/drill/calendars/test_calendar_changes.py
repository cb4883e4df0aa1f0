"""Calendars: stamps, ids, odd days, and how often they ask."""

from __future__ import annotations

import datetime

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from pytest_django import Settings

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import unlocked
from drill.challenges.models import ChallengeRound
from drill.events.models import Event
from drill.events.services import events as event_services
from tests.architecture.many import grow
from tests.architecture.world import publish
from tests.drill.calendars.calendar_reading import challenge_round, feed_url, game, read, rehearsal
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("days and moments are compared")]


def test_a_day_without_times_and_an_event_that_is_removed(band: Band, cast: Cast) -> None:
    picnic = Event.objects.create(
        season=band.season,
        name="Picnic",
        date=datetime.date(2099, 9, 5),
        time_zone="America/Chicago",
    )
    event = read(cast.equipment)[f"event-{picnic.pk}"]
    assert event.start == picnic.date
    assert event.end == picnic.date + datetime.timedelta(days=1)
    event_services.remove_event(actor=cast.staff, event=picnic)
    assert list(read(cast.equipment)) == [f"event-{band.event.pk}"]


def test_the_stamp_is_when_the_event_or_its_parts_last_changed(band: Band, cast: Cast) -> None:
    def noted_on(day: int) -> datetime.datetime:
        """What the audit noted last is dated to a day of the season."""
        moment = datetime.datetime(2099, 9, day, 12, tzinfo=datetime.UTC)
        with unlocked():
            AuditEntry.objects.filter(pk=AuditEntry.objects.latest("pk").pk).update(at=moment)
        return moment

    band.event.venue = "Lantern Field"
    band.event.save()
    moment = noted_on(1)
    assert moment == game(band, cast.equipment).DTSTAMP
    band.stands.ends = datetime.time(19)
    band.stands.save()
    moment = noted_on(2)
    assert moment == game(band, cast.equipment).DTSTAMP
    event_services.remove_segment(actor=cast.staff, segment=band.stands)
    moment = noted_on(3)
    assert moment == game(band, cast.equipment).DTSTAMP


def test_ids_name_our_own_host(band: Band, cast: Cast, settings: Settings) -> None:
    settings.SITE_URL = "https://band.example:8443"
    content = Client().get(feed_url(cast.equipment)).content.decode()
    assert f"UID:event-{band.event.pk}@band.example\r\n" in content


@pytest.mark.parametrize("role", ["staff", "leader", "member", "evaluator"])
def test_a_calendar_asks_as_often_for_more_rows(band: Band, cast: Cast, role: str) -> None:
    lineup = publish(band, cast.staff)
    rehearsal(band)
    challenge_round(band)
    user = cast.named(role)
    assert user is not None

    def asked() -> int:
        with CaptureQueriesContext(connection) as context:
            read(user)
        return len(context.captured_queries)

    read(user)
    before = asked()
    grow(band, cast, lineup)
    first = ChallengeRound.objects.earliest("pk")
    for number in range(3):
        first.pk, first.name = None, f"More {number}"
        first.save()
    assert asked() == before <= 16


@pytest.mark.parametrize("zone", ["America/Chicago", "Asia/Tokyo"])
@pytest.mark.parametrize("day", ["0001-01-01", "2999-07-04", "9999-12-31"])
def test_an_event_far_away_breaks_no_feed(cast: Cast, band: Band, day: str, zone: str) -> None:
    """Such rows may stand in a database from before days had limits."""
    far = Event.objects.create(
        season=band.season,
        name="Far",
        date=day,
        time_zone=zone,
        call_time=datetime.time(23, 30),
        cut_off=datetime.datetime.fromisoformat(f"{day}T23:59Z"),
    )
    found = read(cast.staff)
    assert {f"event-{far.pk}", f"event-{band.event.pk}", f"cut-off-{far.pk}"} <= set(found)
