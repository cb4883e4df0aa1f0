"""Challenges are decided by the figures that were seen."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.urls import reverse

from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge
from tests.answers import text
from tests.drill.challenges.challenge_stage import Stage, at, client, clock, stage

__all__ = ["clock", "stage"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


def test_several_challengers_each_meet_the_holder(stage: Stage, clock: Any) -> None:
    """Ida wins by 0.5, Jon by 1: Jon has it; the decision is one step for the spot."""
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.jon, "1-3")
    ida, jon = stage.challenge("Ida Voss"), stage.challenge("Jon Pell")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, ida, "8.5", "8")
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "Decide by these figures" not in page, "Jon's is not marked yet"
    assert "mark it or call it off" in stage.press("challenge-decide", ida, seen="")
    stage.mark(stage.judge, jon, "9", "8")
    assert "Jon Pell wins 1-3" in stage.decide(first_of(stage, ida, jon))
    ida.refresh_from_db()
    jon.refresh_from_db()
    assert (ida.state, jon.state) == (ChallengeState.KEPT, ChallengeState.WON)
    assert ida.outcome["reason"] == "beaten"
    own = text(stage.ida.get(reverse("my-challenges")))
    assert "Another challenger wins the spot. Your figure: 8.50 out of 10." in own
    assert "8.00" not in own and "9.00" not in own, "nobody else's figures"
    assert "You win the spot. Your figure: 9.00" in text(stage.jon.get(reverse("my-challenges")))
    cai = text(client(stage.cast.member).get(reverse("my-challenges")))
    assert "The challenger wins the spot" in cai and "Jon Pell" not in cai


def first_of(stage: Stage, *challenges: Challenge) -> Challenge:
    """The one that the spot's button on the round's page names."""
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    return next(c for c in challenges if reverse("challenge-decide", args=[c.pk]) in page)


def test_equally_wide_wins_leave_the_holder_and_say_so(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.jon, "1-3")
    ida, jon = stage.challenge("Ida Voss"), stage.challenge("Jon Pell")
    clock.move_to(at(13, 18))
    for challenge in (ida, jon):
        stage.mark(stage.judge, challenge, "9", "8")
    assert "Cai Ørnberg keeps 1-3" in stage.decide(first_of(stage, ida, jon))
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert page.count("tied with another challenger: the holder keeps the spot") == 2


def test_a_decision_is_about_the_figures_that_were_seen(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, challenge, "9", "8")
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    seen = re.search(r'name="seen" value="([^"]*)"', page)
    assert seen
    stage.mark(stage.judge, challenge, "7", "8")
    assert "More marks just came in" in stage.press("challenge-decide", challenge, seen=seen[1])
    challenge.refresh_from_db()
    assert challenge.state == ChallengeState.ASKED
    stage.decide(challenge)
    assert "was already decided by Staff" in stage.press(
        "challenge-decide", challenge, seen=seen[1]
    )
