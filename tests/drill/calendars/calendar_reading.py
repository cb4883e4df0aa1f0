"""Calendars of the small band, as a reader that is not ours finds them."""

from __future__ import annotations

import datetime

import icalendar
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.calendars.models import CalendarFeed
from drill.challenges.models import ChallengeRound
from drill.events.models import Event
from drill.rehearsals.models import RehearsalBlock
from tests.factories import Band


def feed_url(user: User) -> str:
    feed, _ = CalendarFeed.objects.get_or_create(user=user, revoked_at=None)
    return reverse("calendar-feed", args=[feed.token])


def read(user: User) -> dict[str, icalendar.Event]:
    """What an outsider with the address gets, by the start of the id."""
    response = Client().get(feed_url(user))
    assert response.status_code == 200
    events = icalendar.Calendar.from_ical(response.content).events
    return {str(event["UID"]).split("@")[0]: event for event in events}


def game(band: Band, user: User) -> icalendar.Event:
    return read(user)[f"event-{band.event.pk}"]


def rehearsal(band: Band) -> Event:
    made = Event.objects.create(
        season=band.season,
        name="Thursday",
        kind="rehearsal",
        date=datetime.date(2099, 10, 15),
        time_zone="America/Chicago",
    )
    for hour, what in ((18, "pregame, sets 1 to 8"), (19, "run it")):
        RehearsalBlock.objects.create(
            event=made,
            starts=datetime.time(hour),
            ends=datetime.time(hour, 50),
            what=what,
            where="lower field",
        )
    return made


def challenge_round(band: Band) -> ChallengeRound:
    noon = datetime.datetime(2099, 10, 12, 17, tzinfo=datetime.UTC)
    return ChallengeRound.objects.create(
        season=band.season,
        name="Week 9",
        opens_at=noon - datetime.timedelta(days=2),
        closes_at=noon,
        held_at=noon + datetime.timedelta(days=1),
        effective=band.event,
    )
