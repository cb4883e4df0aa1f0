"""Who may challenge whom is the season's rule: alternates or holders too, and how far."""

from __future__ import annotations

import datetime
import re
from typing import Any

import pytest
from django.urls import reverse

from drill.challenges.models import Challenge, ChallengeRule
from roster.ranks.models import AlternatePlace, Holding
from tests.answers import text
from tests.drill.challenges.challenge_stage import Stage, at, client, clock, holder, stage
from tests.factories.cast import account_of

__all__ = ["clock", "stage"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, holdings unique")]


def choose(stage: Stage, who: str, reach: str) -> str:
    data = {"who": who, "reach": reach}
    return text(stage.staff.post(reverse("challenge-rule"), data, follow=True))


def offered(stage: Stage, name: str) -> list[str]:
    """The spots that the member's own page lets them ask for."""
    member = stage.band.members[name]
    user = member.person.user or account_of(member)
    return re.findall(r"Ask for ([\d-]+)\"", text(client(user).get(reverse("my-challenges"))))


@pytest.mark.parametrize(
    ("who", "reach", "kit", "gus"),
    [
        ("alternates", "part", ["2-1", "2-2", "1-1", "1-2", "1-3"], []),
        ("alternates", "rank", ["2-1", "2-2"], []),
        ("all", "rank", ["2-1", "2-2"], ["2-1"]),
        ("all", "part", ["2-1", "2-2", "1-1", "1-2", "1-3"], ["2-1", "1-1", "1-2", "1-3"]),
    ],
)
def test_the_page_offers_what_the_rule_leaves(
    stage: Stage, who: str, reach: str, kit: list[str], gus: list[str]
) -> None:
    choose(stage, who, reach)
    assert offered(stage, "Kit Moss") == kit
    assert offered(stage, "Gus Tamm") == gus


@pytest.mark.parametrize(
    ("who", "reach", "name", "spot", "why"),
    [
        ("alternates", "rank", "Kit Moss", "1-3", "stay within a rank this season: Kit Moss"),
        ("alternates", "part", "Gus Tamm", "1-3", "for alternates only this season"),
        ("all", "part", "Gus Tamm", "2-2", "Gus Tamm already holds 2-2"),
        ("all", "section", "Both Ways", "1-4", "is in Trumpet, 1-4 is Clarinet"),
    ],
)
def test_a_refusal_says_the_rule(
    stage: Stage, who: str, reach: str, name: str, spot: str, why: str
) -> None:
    choose(stage, who, reach)
    if name == "Both Ways":
        member = stage.band.member(name, "trumpet", "clarinet")
        stage.band.alternate("2", "trumpet", member, 2)
    member = stage.band.members[name]
    answer = stage.ask(client(member.person.user or account_of(member)), spot)
    assert why in answer and not Challenge.objects.exists()


def test_staff_choose_a_challenger_and_then_only_among_their_spots(stage: Stage) -> None:
    page = choose(stage, "all", "rank")
    assert "Alternates and holders, for spots of a part they play in their own rank." in page
    url, members = reverse("round", args=[stage.round.pk]), stage.band.members
    first = stage.staff.get(url).context["form"]
    assert list(first.fields) == ["member"]
    assert {m.name for m in first.fields["member"].queryset} >= {"Kit Moss", "Gus Tamm"}
    form = stage.staff.get(url, {"member": members["Gus Tamm"].pk}).context["form"]
    assert [s.label for s in form.fields["spot"].queryset] == ["2-1"]
    sent = {"member": members["Gus Tamm"].pk, "spot": stage.band.spots["1-1"].pk}
    assert stage.staff.post(url, sent).status_code == 200, "no such choice"
    assert not Challenge.objects.exists()
    stage.staff.post(url, sent | {"spot": stage.band.spots["2-1"].pk})
    assert Challenge.objects.get().spot == stage.band.spots["2-1"]


def test_a_holder_who_wins_changes_spots_with_the_one_who_loses(stage: Stage, clock: Any) -> None:
    choose(stage, "all", "part")
    gus = stage.band.members["Gus Tamm"]
    stage.ask(client(account_of(gus)), "1-3")
    clock.move_to(at(13, 17, 30))
    challenge = stage.challenge("Gus Tamm")
    stage.mark(stage.judge, challenge, "9", "8")
    stage.decide(challenge)
    assert "Gus Tamm holds 1-3 from" in stage.press("challenge-effect", challenge)
    assert holder(stage.band, "1-3") == "Gus Tamm" and holder(stage.band, "2-2") == "Cai Ørnberg"
    game = datetime.date(2099, 10, 17)
    assert list(gus.holdings.values_list("spot__number", "ends")) == [(2, game), (3, None)]
    assert not AlternatePlace.objects.filter(member__in=[gus]).exists()


def test_a_loser_who_cannot_play_the_freed_spot_stands_by(stage: Stage, clock: Any) -> None:
    choose(stage, "all", "part")
    dee = stage.band.members["Dee Quill"]
    dee.qualifications.create(part=stage.band.parts["trumpet"])
    stage.ask(client(account_of(dee)), "1-3")
    clock.move_to(at(13, 17, 30))
    challenge = stage.challenge("Dee Quill")
    stage.mark(stage.judge, challenge, "9", "8")
    stage.decide(challenge)
    stage.press("challenge-effect", challenge)
    assert holder(stage.band, "1-3") == "Dee Quill"
    place = AlternatePlace.objects.get(member=stage.band.members["Cai Ørnberg"])
    assert (place.rank.label, place.part.name, place.standing) == ("1", "Trumpet", 3)
    assert not Holding.objects.filter(spot=stage.band.spots["1-4"], ends=None).exists()


def test_without_a_choice_alternates_ask_for_any_spot_of_a_part_they_play(stage: Stage) -> None:
    assert not ChallengeRule.objects.exists()
    assert offered(stage, "Ida Voss") == ["1-1", "1-2", "1-3", "2-1", "2-2"]
    assert "Alternates only" in text(stage.staff.get(reverse("challenges")))
