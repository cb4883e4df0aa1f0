"""Evaluators mark blind: sides, own marks, and what is sent again."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.challenges.models import Challenge, ChallengeMark
from roster.people.enums import Role
from roster.people.models import RoleGrant
from tests.answers import text
from tests.drill.challenges.challenge_stage import Stage, at, client, clock, stage, user_of
from tests.reading import steady

__all__ = ["clock", "stage"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


def test_an_evaluators_page_does_not_change_with_the_sides(stage: Stage, clock: Any) -> None:
    """Which side is the challenger follows from nothing that evaluators get to see."""
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.kit, "2-1")
    clock.move_to(at(13, 9))
    pages: list[list[str]] = []
    for value in (True, False):
        Challenge.objects.update(challenger_is_a=value)
        urls = [reverse("marks")]
        urls += [reverse("challenge-marks", args=[c.pk]) for c in Challenge.objects.all()]
        pages.append([steady(text(stage.judge.get(url))) for url in urls])
    assert pages[0] == pages[1]
    everything = "".join(pages[0])
    for word in ("Ida", "Voss", "Kit", "Cai", "Fay", "1-3", "2-1", "Rank", "Pellowick"):
        assert word not in everything, word
    assert "Trumpet" in everything and "Side A" in everything


def test_sides_are_drawn_anew_for_each_challenge(stage: Stage) -> None:
    """Neither side is always the challenger's: of 24 draws both come up (else 1 in 8 million)."""
    for n in range(24):
        member = stage.band.member(f"Alternate {n}", "trumpet")
        stage.band.alternate("1", "trumpet", member, n + 10)
        data = {"member": member.pk, "spot": stage.band.spots["1-3"].pk}
        url = reverse("round", args=[stage.round.pk])
        assert stage.staff.post(url, data).status_code == 302
    sides = set(Challenge.objects.values_list("challenger_is_a", flat=True))
    assert sides == {True, False}


def test_evaluators_see_and_change_only_their_own_marks(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(12, 23))
    assert stage.mark(stage.judge, challenge, "8", "8").status_code == 404, "not before its day"
    clock.move_to(at(13, 9))
    other = User.objects.create_user("second@staff.example", "Second")
    RoleGrant.objects.create(user=other, season=stage.band.season, role=Role.EVALUATOR)
    second = client(other)
    stage.mark(stage.judge, challenge, "9.5", "3.25")
    page = steady(text(second.get(reverse("challenge-marks", args=[challenge.pk]))))
    assert "9.5" not in page and "3.25" not in page and "0 of 6 marked" in page
    stage.mark(second, challenge, "4", "4")
    mine = ChallengeMark.objects.filter(evaluator=stage.cast.evaluator)
    assert {str(m.value) for m in mine} == {"9.50", "3.25"}
    url = reverse("challenge-marks", args=[challenge.pk])
    for user in (stage.cast.staff, stage.cast.director, stage.cast.leader, stage.cast.member):
        assert client(user).get(url).status_code == 403
        assert client(user).post(url).status_code == 403


def test_nobody_marks_their_own_challenge(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(13, 9))
    for user in (stage.cast.member, user_of(stage.band.members["Ida Voss"])):
        RoleGrant.objects.create(user=user, season=stage.band.season, role=Role.EVALUATOR)
        assert stage.mark(client(user), challenge, "10", "0").status_code == 404
        assert "Challenge 1" not in text(client(user).get(reverse("marks")))
    assert not ChallengeMark.objects.exists()


def test_what_was_typed_stays_when_a_mark_is_wrong(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(13, 9))
    response = stage.mark(stage.judge, challenge, "10.5", "7.25")
    page = text(response)
    assert response.status_code == 200
    assert "Not saved yet" in page and 'value="10.5"' in page and 'value="7.25"' in page
    assert not ChallengeMark.objects.exists()
    stage.mark(stage.judge, challenge, "9", "")
    assert ChallengeMark.objects.count() == 3, "one side first, the other later"
    stage.mark(stage.judge, challenge, "", "7")
    assert {str(m.value) for m in ChallengeMark.objects.all()} == {"7.00"}, "emptied is taken away"


def test_sending_marks_again_writes_nothing(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    challenge = stage.challenge("Ida Voss")
    clock.move_to(at(13, 9))
    stage.mark(stage.judge, challenge, "9", "7.5")
    before = AuditEntry.objects.count()
    stage.mark(stage.judge, challenge, "9", "7.5")
    assert AuditEntry.objects.count() == before
