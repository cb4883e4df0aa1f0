"""Challenges are asked for: until when, by whom, and from the request to the new holder."""

from __future__ import annotations

import datetime
import re
from typing import Any, TypedDict

import pytest
from django.urls import reverse

from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.challenges.enums import ChallengeState
from drill.challenges.models import Challenge, ChallengeRound
from drill.lineup.services.drafts import is_stale
from drill.lineup.services.problem_builder import build
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding
from tests.answers import text
from tests.drill.challenges.challenge_stage import (
    Stage,
    at,
    client,
    clock,
    holder,
    line_of,
    stage,
    user_of,
)
from tests.factories.cast import account_of

__all__ = ["clock", "stage"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


def test_from_sign_up_to_the_new_holder(stage: Stage, clock: Any) -> None:
    """S12: closes Monday noon; equal marks leave the holder; 12:20 waits for next week; an
    injured holder's spot is protected; a win takes effect once, from a named event on."""
    band, cast = stage.band, stage.cast
    hurt = {"kind": AbsenceKind.LIMITED, "from_date": datetime.date(2099, 10, 5)}
    report = Report(band.members["Bo Larkspur"], hurt | {"category": "health"})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    asked_until_noon(stage, clock)
    clock.move_to(at(13, 17, 30))
    challenge = stage.challenge("Ida Voss")
    equal_then_won(stage, challenge)
    first = stage.press("challenge-effect", challenge)
    assert "Ida Voss holds 1-3 from Oct 17, 2099" in first
    assert "Pellowick at home: revision 1 was published before" in first
    assert "No win here" in stage.press("challenge-effect", challenge), "submitted twice"
    held_from_the_game_on(stage)


def asked_until_noon(stage: Stage, clock: Any) -> None:
    """Ida's request comes in time, Jon's waits; the protected spot takes none."""
    clock.move_to(at(12, 11, 59))
    page = text(stage.ida.get(reverse("my-challenges")))
    assert line_of(page, "1-2").count("protected") == 1 and "Ask for 1-3" in page
    assert not re.search(r"limited|health|Larkspur", page), "never why, and no names"
    assert "1-2 is protected" in stage.ask(stage.ida, "1-2")
    assert "You have asked for 1-3 in Week 9" in stage.ask(stage.ida, "1-3")
    assert "already asked for 1-3 in Week 9" in stage.ask(stage.ida, "1-3"), "sent twice"
    clock.move_to(at(12, 12, 20))
    assert "1-1 waits for Week 10" in stage.ask(stage.jon, "1-1", stage.round)
    assert [(c.challenger.name, c.round.name) for c in Challenge.objects.order_by("pk")] == [
        ("Ida Voss", "Week 9"),
        ("Jon Pell", "Week 10"),
    ]


def equal_then_won(stage: Stage, challenge: Challenge) -> None:
    """Equal marks, taken back; then Ida wins, and holds nothing yet."""
    assert stage.mark(stage.judge, challenge, "8.25", "8.25").status_code == 302
    stage.decide(challenge)
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "8.25 to 8.25: tied, the holder keeps the spot" in page
    challenge.refresh_from_db()
    assert challenge.state == ChallengeState.KEPT
    assert stage.mark(stage.judge, challenge, "9", "8").status_code == 200, "decided: too late"

    assert "taken back" in stage.press("challenge-take-back", challenge)
    assert stage.mark(stage.judge, challenge, "8.5", "8.25").status_code == 302
    assert "Ida Voss wins 1-3" in stage.decide(challenge)
    assert holder(stage.band, "1-3") == "Cai Ørnberg", "decided is not in effect"


def held_from_the_game_on(stage: Stage) -> None:
    """Holders, alternates and lineups of before and after."""
    band = stage.band
    cai, ida = band.members["Cai Ørnberg"], band.members["Ida Voss"]
    holdings = Holding.objects.filter(spot=band.spots["1-3"]).values_list(
        "member__person__legal_name", "starts", "ends"
    )
    game = datetime.date(2099, 10, 17)
    assert list(holdings) == [
        ("Cai Ørnberg", band.season.starts, game),
        ("Ida Voss", game, None),
    ]
    spot = band.spots["1-3"].pk
    day_before = game - datetime.timedelta(days=1)
    assert rank_queries.holders_on(band.season, day_before)[spot] == cai.pk
    assert rank_queries.holders_on(band.season, game)[spot] == ida.pk
    place = AlternatePlace.objects.get(member=cai)
    assert (place.rank.label, place.part.name, place.standing) == ("1", "Trumpet", 1)
    assert not AlternatePlace.objects.filter(member=ida).exists()
    for row in stage.past_lineup.rows.filter(spot=spot):
        assert row.member == cai, "past lineups keep their holders"
    assert is_stale(stage.lineup, build(band.event))
    assert "Something changed since the lineup was made" in text(
        stage.staff.get(reverse("week-of", args=[band.event.pk]))
    )


@pytest.mark.parametrize(
    ("moment", "outcome"),
    [
        (at(2, 7, 59), "Sign-up for Week 9 opens Fri, Oct 2, 8:00 AM"),
        (at(2, 8), "You have asked for 1-3 in Week 9"),
        (at(12, 11, 59), "You have asked for 1-3 in Week 9"),
        (at(12, 12), "1-3 waits for Week 10"),
        (at(19, 11, 59), "1-3 waits for Week 10"),
        (at(19, 12), "Sign-up for Week 9 closed Mon, Oct 12, 12:00 PM, and no later round"),
    ],
)
def test_the_closing_time_is_that_of_the_request(
    stage: Stage, clock: Any, moment: datetime.datetime, outcome: str
) -> None:
    clock.move_to(moment)
    assert outcome in text(
        client(user_of(stage.band.members["Ida Voss"])).post(
            reverse("my-challenges"),
            {"round": stage.round.pk, "spot": stage.band.spots["1-3"].pk},
            follow=True,
        )
    )
    assert Challenge.objects.exists() == ("opens" not in outcome and "closed" not in outcome)


def test_the_page_says_what_a_late_request_waits_for(stage: Stage, clock: Any) -> None:
    clock.move_to(at(12, 12, 20))
    page = text(stage.ida.get(reverse("my-challenges")))
    assert "Sign-up for Week 9 closed Mon, Oct 12, 12:00 PM" in page
    assert "What you ask for now waits for Week 10" in page and "Ask for 1-3" in page
    ChallengeRound.objects.filter(pk=stage.next.pk).delete()
    page = text(stage.ida.get(reverse("my-challenges")))
    assert "No later round is announced yet" in page and "Ask for" not in page


def test_the_director_may_sign_up_after_the_closing_time(stage: Stage, clock: Any) -> None:
    clock.move_to(at(12, 12, 20))
    url = reverse("round", args=[stage.round.pk])
    members, spot = stage.band.members, stage.band.spots["1-3"].pk
    late = {"member": members["Ida Voss"].pk, "spot": spot, "late": "on"}
    page = stage.staff.post(url, late, follow=True)
    assert "waits for Week 10" in text(page), "staff have no such choice"
    director = client(stage.cast.director)
    plain = {"member": members["Jon Pell"].pk, "spot": spot}
    assert "waits for Week 10" in text(director.post(url, plain, follow=True))
    kit = {"member": members["Kit Moss"].pk, "spot": spot, "late": "on"}
    assert "is in Week 9" in text(director.post(url, kit, follow=True))


def test_own_rank_first_and_only_spots_of_the_part(stage: Stage) -> None:
    page = text(stage.kit.get(reverse("my-challenges")))
    spots = re.findall(r"<li><strong>([\d-]+)</strong>", page)
    assert spots == ["2-1", "2-2", "1-1", "1-2", "1-3"]
    page = text(client(stage.cast.member).get(reverse("my-challenges")))
    assert "Ask for" not in page, "a holder asks for nothing"


class Odd(TypedDict, total=False):
    """What keeps a member from challenges."""

    status: str
    cleared: str


@pytest.mark.parametrize(
    ("name", "spot", "message"),
    [
        ("Ida Voss", "1-4", "does not play Clarinet"),
        ("Cai Ørnberg", "1-1", "holds a spot"),
        ("Without Place", "1-3", "is not an alternate"),
        ("On Leave", "1-3", "is not active"),
        ("Not Cleared", "1-3", "take part on Tue, Oct 13"),
        ("Ida Voss", "1-6", "Nobody holds 1-6"),
    ],
)
def test_who_may_not_ask_is_told_why(stage: Stage, name: str, spot: str, message: str) -> None:
    band = stage.band
    band.spot("1", 6, "trumpet")
    if name not in band.members:
        odd: dict[str, Odd] = {
            "On Leave": {"status": "on leave"},
            "Not Cleared": {"cleared": "no"},
        }
        member = band.member(name, "trumpet", **odd.get(name, {}))
        if name != "Without Place":
            band.alternate("1", "trumpet", member, 9)
    member = Member.objects.get(pk=band.members[name].pk)
    who = client(member.person.user or account_of(member))
    assert message in stage.ask(who, spot)
    assert not Challenge.objects.exists()
