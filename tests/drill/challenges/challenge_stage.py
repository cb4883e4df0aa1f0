"""The small band with two rounds of challenges, everybody signed in."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeCriterion, ChallengeRound
from drill.events.models import Event, Segment
from roster.people.models import Member
from tests.answers import Response, text
from tests.architecture.many import write_lineup
from tests.conftest import BACKEND
from tests.factories import Band, Cast
from tests.factories.cast import account_of

ZONE = ZoneInfo("America/Chicago")


def at(day: int, hour: int, minute: int = 0) -> datetime.datetime:
    """A moment of October 2099, local; the 12th is a Monday, the band's game is on the 17th."""
    return datetime.datetime(2099, 10, day, hour, minute, tzinfo=ZONE)


@pytest.fixture
def clock() -> Iterator[Any]:
    with time_machine.travel(at(8, 9), tick=False) as traveller:
        yield traveller


class Stage:
    """The band with two rounds, everybody signed in."""

    def __init__(self, band: Band, cast: Cast) -> None:
        self.band, self.cast = band, cast
        self.staff = client(cast.staff)
        self.ida = client(account_of(band.members["Ida Voss"]))
        self.jon = client(account_of(band.members["Jon Pell"]))
        self.kit = client(account_of(band.members["Kit Moss"]))
        self.judge = client(cast.evaluator)
        self.past = self._event("Harlow away", datetime.date(2099, 10, 10))
        self.past_lineup = write_lineup(self.past, cast.staff, 1)
        self.lineup = write_lineup(band.event, cast.staff, 1)
        self.later = self._event("Saltmere at home", datetime.date(2099, 10, 24))
        self.staff.post(reverse("challenge-criteria-start"))
        self.round = self.add_round("Week 9", 2, 12, 13, band.event)
        self.next = self.add_round("Week 10", 13, 19, 20, self.later)

    def _event(self, name: str, date: datetime.date) -> Event:
        event = Event.objects.create(
            season=self.band.season, name=name, date=date, time_zone="America/Chicago"
        )
        Segment.objects.create(
            event=event, order=1, name="Halftime", kind="halftime", starts="16:00", ends="16:20"
        )
        return event

    def add_round(
        self, name: str, opens: int, closes: int, held: int, event: Event
    ) -> ChallengeRound:
        data = {
            "name": name,
            "opens_at": f"2099-10-{opens:02d}T08:00",
            "closes_at": f"2099-10-{closes:02d}T12:00",
            "held_at": f"2099-10-{held:02d}T17:00",
            "effective": event.pk,
        }
        response = self.staff.post(reverse("round-new"), data)
        assert response.status_code == 302, text(response)
        return ChallengeRound.objects.get(name=name)

    def ask(self, who: Client, spot: str, round_: ChallengeRound | None = None) -> str:
        data = {"round": (round_ or self.round).pk, "spot": self.band.spots[spot].pk}
        return text(who.post(reverse("my-challenges"), data, follow=True))

    def challenge(self, name: str) -> Challenge:
        return Challenge.objects.get(challenger=self.band.members[name])

    def mark(self, judge: Client, challenge: Challenge, challenger: str, holder: str) -> Response:
        """The same mark on every criterion for each side."""
        values = {True: challenger, False: holder}
        data = {
            f"m{c.pk}{side}": values[(side == "A") == challenge.challenger_is_a]
            for c in ChallengeCriterion.objects.all()
            for side in "AB"
        }
        return judge.post(reverse("challenge-marks", args=[challenge.pk]), data)

    def decide(self, challenge: Challenge) -> str:
        """Press the button on the round's page, with what it carries."""
        page = text(self.staff.get(reverse("round", args=[challenge.round_id])))
        form = page[page.index(reverse("challenge-decide", args=[challenge.pk])) :]
        seen = re.search(r'name="seen" value="([^"]*)"', form)
        assert seen
        return self.press("challenge-decide", challenge, seen=seen[1])

    def press(self, name: str, challenge: Challenge, **data: str) -> str:
        return text(self.staff.post(reverse(name, args=[challenge.pk]), data, follow=True))


def client(user: User) -> Client:
    made = Client()
    made.force_login(user, backend=BACKEND)
    return made


def user_of(member: Member) -> User:
    """The account that the member has."""
    assert member.person.user is not None
    return member.person.user


@pytest.fixture
def stage(clock: Any, band: Band, cast: Cast) -> Stage:
    return Stage(band, cast)


def line_of(page: str, spot: str) -> str:
    return next(li for li in page.split("<li>") if f"<strong>{spot}</strong>" in li)


def holder(band: Band, spot: str) -> str:
    return band.spots[spot].holdings.get(ends__isnull=True).member.name


@pytest.fixture
def won(stage: Stage, clock: Any) -> Challenge:
    """Ida has won 1-3, not in effect yet."""
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, challenge, "9", "8")
    stage.decide(challenge)
    challenge.refresh_from_db()
    assert challenge.state == ChallengeState.WON
    return challenge
