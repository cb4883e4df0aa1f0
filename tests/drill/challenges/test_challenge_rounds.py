"""Rounds of challenges: times, what is called off, the audit."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import record_view
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeCriterion
from drill.lineup.models import Lineup
from tests.answers import text
from tests.architecture.many import add_rank
from tests.drill.challenges.challenge_stage import Stage, at, client, clock, stage, won

__all__ = ["clock", "stage", "won"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


def test_challengers_call_off_their_own_until_it_is_held(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    url = reverse("challenge-call-off", args=[challenge.pk])
    assert stage.jon.post(url).status_code == 403
    assert client(stage.cast.member).post(url).status_code == 403, "the holder cannot"
    assert stage.ida.post(url).status_code == 302
    assert "You have asked for 1-1" in stage.ask(stage.ida, "1-1"), "and may ask for another"
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(13, 17))
    assert stage.ida.post(reverse("challenge-call-off", args=[challenge.pk])).status_code == 403
    assert "called off" in stage.press("challenge-call-off", challenge)


def test_what_is_marked_stays_while_marks_wait(stage: Stage, won: Challenge, clock: Any) -> None:
    """A decision keeps the figures it was made on, whatever is marked later."""
    criterion = ChallengeCriterion.objects.earliest("pk")
    url = reverse("challenge-criterion", args=[criterion.pk])
    data = {"name": criterion.name, "top": 10, "weight": 5, "order": 1}
    stage.press("challenge-take-back", won)
    assert "decide those first" in text(stage.staff.post(url, data))
    stage.decide(won)
    assert stage.staff.post(url, data).status_code == 302
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "9.00 to 8.00: the challenger takes the spot" in page
    remove = reverse("challenge-criterion-remove", args=[criterion.pk])
    assert "it stays" in text(stage.staff.post(remove, follow=True))


def test_a_round_keeps_its_times_in_the_seasons_zone(stage: Stage) -> None:
    stage.round.refresh_from_db()
    assert stage.round.closes_at == at(12, 12)
    page = text(stage.staff.get(reverse("round-edit", args=[stage.round.pk])))
    assert 'value="2099-10-12T12:00"' in page
    page = text(stage.staff.get(reverse("challenges")))
    assert "Mon, Oct 12, 12:00 PM" in page


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"closes_at": "2099-10-01T12:00"}, "Sign-up opens, closes, and then"),
        ({"held_at": "2099-10-12T11:00"}, "Sign-up opens, closes, and then"),
        ({"held_at": "2099-10-18T17:00"}, "is before the day the challenges are held"),
    ],
)
def test_a_rounds_times_are_in_order(stage: Stage, change: dict[str, str], message: str) -> None:
    data = {
        "name": "Week 9",
        "opens_at": "2099-10-02T08:00",
        "closes_at": "2099-10-12T12:00",
        "held_at": "2099-10-13T17:00",
        "effective": stage.band.event.pk,
    }
    page = stage.staff.post(reverse("round-edit", args=[stage.round.pk]), data | change)
    assert page.status_code == 200 and message in text(page)


def test_every_step_leaves_its_line_in_the_audit(stage: Stage, won: Challenge) -> None:
    stage.press("challenge-effect", won)
    record_view(stage.cast.staff, "x", 1, "nothing")
    actions = set(AuditEntry.objects.values_list("action", flat=True))
    assert actions >= {
        "save challenge round",
        "add challenge criteria",
        "ask for spot",
        "mark challenge",
        "decide challenge",
        "put win into effect",
    }
    change = AuditEntry.objects.filter(action="put win into effect")
    assert {e.table for e in change} >= {
        "challenges_challenge",
        "ranks_holding",
        "ranks_alternateplace",
    }
    assert Lineup.objects.count() == 2, "no lineup is made or changed by it"


def test_the_alternates_page_asks_as_often_for_more_spots(stage: Stage) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as context:
            assert "Ask for 1-3" in text(stage.ida.get(reverse("my-challenges")))
        return len(context)

    count()
    before = count()
    add_rank(stage.band, 12)
    stage.ask(stage.kit, "1-3", stage.round)
    assert count() <= before


def test_a_challenge_called_off_does_not_hold_up_the_others(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.jon, "1-3")
    ida, jon = stage.challenge("Ida Voss"), stage.challenge("Jon Pell")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, ida, "9", "8")
    stage.mark(stage.judge, jon, "8.5", "8")
    stage.press("challenge-call-off", ida)
    assert "Jon Pell wins 1-3" in stage.decide(jon)
    ida.refresh_from_db()
    assert ida.state == ChallengeState.CALLED_OFF
