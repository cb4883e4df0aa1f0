"""A win takes effect: when, once, and not over somebody who moved."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.urls import reverse

from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeRound
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding
from tests.answers import text
from tests.drill.challenges.challenge_stage import Stage, at, client, clock, holder, stage, won

__all__ = ["clock", "stage", "won"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


def test_a_win_waits_for_the_performance_before_it(
    stage: Stage, won: Challenge, clock: Any
) -> None:
    ChallengeRound.objects.filter(pk=stage.round.pk).update(effective=stage.later)
    assert "Pellowick at home on Sat, Oct 17 comes before it" in stage.press(
        "challenge-effect", won
    )
    assert holder(stage.band, "1-3") == "Cai Ørnberg"
    won.refresh_from_db()
    assert won.applied_at is None, "nothing is half done"
    clock.move_to(at(18, 9))
    assert "from Oct 24, 2099" in text(
        client(stage.cast.staff).post(reverse("challenge-effect", args=[won.pk]), follow=True)
    )


def test_a_win_put_into_effect_late_does_not_change_the_past(
    stage: Stage, won: Challenge, clock: Any
) -> None:
    clock.move_to(at(20, 9))
    client(stage.cast.staff).post(reverse("challenge-effect", args=[won.pk]))
    spot, season = stage.band.spots["1-3"].pk, stage.band.season
    cai = stage.band.members["Cai Ørnberg"].pk
    assert rank_queries.holders_on(season, datetime.date(2099, 10, 17))[spot] == cai
    assert rank_queries.holders_on(season, datetime.date(2099, 10, 19))[spot] == cai
    ida = stage.band.members["Ida Voss"].pk
    assert rank_queries.holders_on(season, datetime.date(2099, 10, 20))[spot] == ida


def test_a_win_is_void_when_somebody_moved(stage: Stage, won: Challenge) -> None:
    band = stage.band
    cai = Holding.objects.get(spot=band.spots["1-3"])
    AlternatePlace.objects.filter(member=band.members["Ida Voss"]).delete()
    assert "Ida Voss is no longer an alternate" in stage.press("challenge-effect", won)
    cai.ends = datetime.date(2099, 10, 14)
    cai.save()
    assert "Cai Ørnberg no longer holds 1-3" in stage.press("challenge-effect", won)
    Member.objects.filter(pk=band.members["Ida Voss"].pk).update(status="left")
    won.refresh_from_db()
    assert won.applied_at is None and won.holding is None


def test_a_spot_with_a_win_not_in_effect_takes_no_request(stage: Stage, won: Challenge) -> None:
    assert "1-3 is protected in Week 10" in stage.ask(stage.jon, "1-3", stage.next)


def test_what_is_in_effect_is_not_taken_back(stage: Stage, won: Challenge) -> None:
    stage.press("challenge-effect", won)
    assert "is already in effect" in stage.press("challenge-take-back", won)
    won.refresh_from_db()
    assert won.state == ChallengeState.WON
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "in effect" in page and "Take the decision back" not in page


def test_a_new_challenge_after_the_win_is_with_the_new_holder(
    stage: Stage, won: Challenge, clock: Any
) -> None:
    stage.press("challenge-effect", won)
    stage.ask(stage.jon, "1-3", stage.next)
    assert stage.challenge("Jon Pell").holder == stage.band.members["Ida Voss"]
