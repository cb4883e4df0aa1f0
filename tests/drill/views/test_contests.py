"""Contests through their pages: sign-up, blind marks, decision, the new holder."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import record_view
from drill.enums import AbsenceKind, ContestState
from drill.models import (
    Contest,
    ContestCriterion,
    ContestMark,
    ContestRound,
    Event,
    Lineup,
    Segment,
)
from drill.services.absences import Report, report_absence
from drill.services.lineups import is_stale
from drill.services.problem_builder import build
from roster import queries as roster
from roster.enums import Role
from roster.models import AlternatePlace, Holding, Member, RoleGrant
from tests.architecture.many import add_rank, write_lineup
from tests.conftest import BACKEND
from tests.factories import Band, Cast
from tests.factories.cast import account_of
from tests.reading import steady

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]

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
        self.staff.post(reverse("contest-criteria-start"))
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
    ) -> ContestRound:
        data = {
            "name": name,
            "opens_at": f"2099-10-{opens:02d}T08:00",
            "closes_at": f"2099-10-{closes:02d}T12:00",
            "held_at": f"2099-10-{held:02d}T17:00",
            "effective": event.pk,
        }
        response = self.staff.post(reverse("round-new"), data)
        assert response.status_code == 302, text(response)
        return ContestRound.objects.get(name=name)

    def ask(self, who: Client, spot: str, round_: ContestRound | None = None) -> str:
        data = {"round": (round_ or self.round).pk, "spot": self.band.spots[spot].pk}
        return text(who.post(reverse("my-contests"), data, follow=True))

    def contest(self, name: str) -> Contest:
        return Contest.objects.get(challenger=self.band.members[name])

    def mark(self, judge: Client, contest: Contest, challenger: str, holder: str) -> HttpResponse:
        """The same mark on every criterion for each side."""
        values = {True: challenger, False: holder}
        data = {
            f"m{c.pk}{side}": values[(side == "A") == contest.challenger_is_a]
            for c in ContestCriterion.objects.all()
            for side in "AB"
        }
        return judge.post(reverse("contest-marks", args=[contest.pk]), data)

    def decide(self, contest: Contest) -> str:
        """Press the button on the round's page, with what it carries."""
        page = text(self.staff.get(reverse("round", args=[contest.round_id])))
        form = page[page.index(reverse("contest-decide", args=[contest.pk])) :]
        seen = re.search(r'name="seen" value="([^"]*)"', form)
        assert seen
        return self.press("contest-decide", contest, seen=seen[1])

    def press(self, name: str, contest: Contest, **data: str) -> str:
        return text(self.staff.post(reverse(name, args=[contest.pk]), data, follow=True))


def client(user: User) -> Client:
    made = Client()
    made.force_login(user, backend=BACKEND)
    return made


def text(response: HttpResponse) -> str:
    return response.content.decode()


@pytest.fixture
def stage(clock: Any, band: Band, cast: Cast) -> Stage:
    return Stage(band, cast)


def test_from_sign_up_to_the_new_holder(stage: Stage, clock: Any) -> None:
    """S12: closes Monday noon; equal marks leave the holder; 12:20 waits for next week; an
    injured holder's spot is protected; a win takes effect once, from a named event on."""
    band, cast = stage.band, stage.cast
    hurt = {"kind": AbsenceKind.LIMITED, "from_date": datetime.date(2099, 10, 5)}
    report = Report(band.members["Bo Larkspur"], hurt | {"category": "health"})
    report_absence(actor=cast.staff, report=report, by_staff=True)

    clock.move_to(at(12, 11, 59))
    page = text(stage.ida.get(reverse("my-contests")))
    assert line_of(page, "1-2").count("protected") == 1 and "Ask for 1-3" in page
    assert not re.search(r"limited|health|Larkspur", page), "never why, and no names"
    assert "1-2 is protected" in stage.ask(stage.ida, "1-2")
    assert "You have asked for 1-3 in Week 9" in stage.ask(stage.ida, "1-3")
    assert "asked for 1-3 in Week 9 already" in stage.ask(stage.ida, "1-3"), "sent twice"
    clock.move_to(at(12, 12, 20))
    assert "1-1 waits for Week 10" in stage.ask(stage.jon, "1-1", stage.round)
    assert [(c.challenger.name, c.round.name) for c in Contest.objects.order_by("pk")] == [
        ("Ida Voss", "Week 9"),
        ("Jon Pell", "Week 10"),
    ]

    clock.move_to(at(13, 17, 30))
    contest = stage.contest("Ida Voss")
    assert stage.mark(stage.judge, contest, "8.25", "8.25").status_code == 302
    stage.decide(contest)
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "8.25 to 8.25: equal, the holder keeps the spot" in page
    contest.refresh_from_db()
    assert contest.state == ContestState.KEPT
    assert stage.mark(stage.judge, contest, "9", "8").status_code == 200, "decided: too late"

    assert "taken back" in stage.press("contest-take-back", contest)
    assert stage.mark(stage.judge, contest, "8.5", "8.25").status_code == 302
    assert "Ida Voss wins 1-3" in stage.decide(contest)
    assert holder(band, "1-3") == "Cai Ørnberg", "decided is not in effect"

    first = stage.press("contest-effect", contest)
    assert "Ida Voss holds 1-3 from 17 Oct 2099" in first
    assert "Brackenfield at home: revision 1 was published before" in first
    assert "no win here" in stage.press("contest-effect", contest), "submitted twice"
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
    assert roster.holders_on(band.season, day_before)[spot] == cai.pk
    assert roster.holders_on(band.season, game)[spot] == ida.pk
    place = AlternatePlace.objects.get(member=cai)
    assert (place.rank.label, place.part.name, place.standing) == ("1", "Trumpet", 1)
    assert not AlternatePlace.objects.filter(member=ida).exists()
    for row in stage.past_lineup.rows.filter(spot=spot):
        assert row.member == cai, "past lineups keep their holders"
    assert is_stale(stage.lineup, build(band.event))
    assert "data that has changed since" in text(
        stage.staff.get(reverse("week-of", args=[band.event.pk]))
    )


def line_of(page: str, spot: str) -> str:
    return next(li for li in page.split("<li>") if f"<strong>{spot}</strong>" in li)


def holder(band: Band, spot: str) -> str:
    return band.spots[spot].holdings.get(ends__isnull=True).member.name


@pytest.mark.parametrize(
    ("moment", "outcome"),
    [
        (at(2, 7, 59), "Sign-up for Week 9 opens Fri 2 Oct, 8:00 AM"),
        (at(2, 8), "You have asked for 1-3 in Week 9"),
        (at(12, 11, 59), "You have asked for 1-3 in Week 9"),
        (at(12, 12), "1-3 waits for Week 10"),
        (at(19, 11, 59), "1-3 waits for Week 10"),
        (at(19, 12), "Sign-up for Week 9 closed Mon 12 Oct, 12:00 PM, and no later round"),
    ],
)
def test_the_closing_time_is_that_of_the_request(
    stage: Stage, clock: Any, moment: datetime.datetime, outcome: str
) -> None:
    clock.move_to(moment)
    assert outcome in text(
        client(stage.band.members["Ida Voss"].person.user).post(
            reverse("my-contests"),
            {"round": stage.round.pk, "spot": stage.band.spots["1-3"].pk},
            follow=True,
        )
    )
    assert Contest.objects.exists() == ("opens" not in outcome and "closed" not in outcome)


def test_the_page_says_what_a_late_request_waits_for(stage: Stage, clock: Any) -> None:
    clock.move_to(at(12, 12, 20))
    page = text(stage.ida.get(reverse("my-contests")))
    assert "Sign-up for Week 9 closed Mon 12 Oct, 12:00 PM" in page
    assert "What you ask for now waits for Week 10" in page and "Ask for 1-3" in page
    ContestRound.objects.filter(pk=stage.next.pk).delete()
    page = text(stage.ida.get(reverse("my-contests")))
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
    page = text(stage.kit.get(reverse("my-contests")))
    spots = re.findall(r"<li><strong>([\d-]+)</strong>", page)
    assert spots == ["2-1", "2-2", "1-1", "1-2", "1-3"]
    page = text(client(stage.cast.member).get(reverse("my-contests")))
    assert "Ask for" not in page, "a holder asks for nothing"


@pytest.mark.parametrize(
    ("name", "spot", "message"),
    [
        ("Ida Voss", "1-4", "does not play Clarinet"),
        ("Cai Ørnberg", "1-1", "holds a spot"),
        ("Without Place", "1-3", "is no alternate"),
        ("On Leave", "1-3", "is not active"),
        ("Not Cleared", "1-3", "cannot take part on Tue 13 Oct"),
        ("Ida Voss", "1-6", "Nobody holds 1-6"),
    ],
)
def test_who_may_not_ask_is_told_why(stage: Stage, name: str, spot: str, message: str) -> None:
    band = stage.band
    band.spot("1", 6, "trumpet")
    if name not in band.members:
        odd = {"On Leave": {"status": "on leave"}, "Not Cleared": {"cleared": "no"}}
        member = band.member(name, "trumpet", **odd.get(name, {}))
        if name != "Without Place":
            band.alternate("1", "trumpet", member, 9)
    member = Member.objects.get(pk=band.members[name].pk)
    who = client(member.person.user or account_of(member))
    assert message in stage.ask(who, spot)
    assert not Contest.objects.exists()


def away_by_dates(band: Band, cast: Cast) -> None:
    values = {"kind": AbsenceKind.OUT, "from_date": datetime.date(2099, 10, 13)}
    report_absence(
        actor=cast.staff, report=Report(band.members["Cai Ørnberg"], values), by_staff=True
    )


def away_at_the_rehearsal(band: Band, cast: Cast) -> None:
    event = Event.objects.create(
        season=band.season,
        name="Run",
        kind="rehearsal",
        date=datetime.date(2099, 10, 13),
        time_zone="America/Chicago",
    )
    values = {"kind": AbsenceKind.OUT, "event": event}
    report_absence(
        actor=cast.staff, report=Report(band.members["Cai Ørnberg"], values), by_staff=True
    )


def leaves_before(band: Band, cast: Cast) -> None:
    values = {"kind": AbsenceKind.LEAVES, "from_date": datetime.date(2099, 10, 13)}
    values |= {"until_date": datetime.date(2099, 10, 13), "leaves_at": datetime.time(16, 30)}
    report_absence(
        actor=cast.staff, report=Report(band.members["Cai Ørnberg"], values), by_staff=True
    )


def not_cleared(band: Band, cast: Cast) -> None:
    Member.objects.filter(pk=band.members["Cai Ørnberg"].pk).update(cleared="no")


def eligible_until_before(band: Band, cast: Cast) -> None:
    Member.objects.filter(pk=band.members["Cai Ørnberg"].pk).update(
        eligible="until", eligible_until=datetime.date(2099, 10, 12)
    )


def by_staffs_word(band: Band, cast: Cast) -> None:
    client(cast.staff).post(
        reverse("protected-spots"), {"spot": band.spots["1-3"].pk, "until": "2099-10-13"}
    )


PROTECTIONS = [
    away_by_dates,
    away_at_the_rehearsal,
    leaves_before,
    not_cleared,
    eligible_until_before,
    by_staffs_word,
]


@pytest.mark.parametrize("protect", PROTECTIONS)
def test_a_protected_spot_reads_the_same_whatever_protects_it(stage: Stage, protect: Any) -> None:
    protect(stage.band, stage.cast)
    page = text(stage.ida.get(reverse("my-contests")))
    line = line_of(page, "1-3")
    assert "protected" in line and "Ask" not in line
    assert " ".join(re.sub("<[^>]*>", " ", line).split()) == "1-3 Trumpet, your rank protected"
    assert "1-3 is protected in Week 9" in stage.ask(stage.ida, "1-3")
    assert not Contest.objects.exists()


def test_a_holder_back_in_time_can_be_contested(stage: Stage) -> None:
    values = {"kind": AbsenceKind.OUT, "from_date": datetime.date(2099, 10, 5)}
    values |= {"until_date": datetime.date(2099, 10, 12)}
    report = Report(stage.band.members["Cai Ørnberg"], values)
    report_absence(actor=stage.cast.staff, report=report, by_staff=True)
    assert "You have asked for 1-3" in stage.ask(stage.ida, "1-3")


def test_an_evaluators_page_does_not_change_with_the_sides(stage: Stage, clock: Any) -> None:
    """Which side is the challenger follows from nothing that evaluators get to see."""
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.kit, "2-1")
    clock.move_to(at(13, 9))
    pages: list[list[str]] = []
    for value in (True, False):
        Contest.objects.update(challenger_is_a=value)
        urls = [reverse("marks")]
        urls += [reverse("contest-marks", args=[c.pk]) for c in Contest.objects.all()]
        pages.append([steady(text(stage.judge.get(url))) for url in urls])
    assert pages[0] == pages[1]
    everything = "".join(pages[0])
    for word in ("Ida", "Voss", "Kit", "Cai", "Fay", "1-3", "2-1", "Rank", "Brackenfield"):
        assert word not in everything, word
    assert "Trumpet" in everything and "Side A" in everything


def test_sides_are_drawn_anew_for_each_contest(stage: Stage) -> None:
    """Neither side is always the challenger's: of 24 draws both come up (else 1 in 8 million)."""
    for n in range(24):
        member = stage.band.member(f"Alternate {n}", "trumpet")
        stage.band.alternate("1", "trumpet", member, n + 10)
        data = {"member": member.pk, "spot": stage.band.spots["1-3"].pk}
        url = reverse("round", args=[stage.round.pk])
        assert stage.staff.post(url, data).status_code == 302
    sides = set(Contest.objects.values_list("challenger_is_a", flat=True))
    assert sides == {True, False}


def test_evaluators_see_and_change_only_their_own_marks(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    clock.move_to(at(12, 23))
    assert stage.mark(stage.judge, contest, "8", "8").status_code == 404, "not before its day"
    clock.move_to(at(13, 9))
    other = User.objects.create_user("second@staff.example", "Second")
    RoleGrant.objects.create(user=other, season=stage.band.season, role=Role.EVALUATOR)
    second = client(other)
    stage.mark(stage.judge, contest, "9.5", "3.25")
    page = steady(text(second.get(reverse("contest-marks", args=[contest.pk]))))
    assert "9.5" not in page and "3.25" not in page and "0 of 6 marked" in page
    stage.mark(second, contest, "4", "4")
    mine = ContestMark.objects.filter(evaluator=stage.cast.evaluator)
    assert {str(m.value) for m in mine} == {"9.50", "3.25"}
    url = reverse("contest-marks", args=[contest.pk])
    for user in (stage.cast.staff, stage.cast.director, stage.cast.leader, stage.cast.member):
        assert client(user).get(url).status_code == 403
        assert client(user).post(url).status_code == 403


def test_nobody_marks_their_own_contest(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    clock.move_to(at(13, 9))
    for user in (stage.cast.member, stage.band.members["Ida Voss"].person.user):
        RoleGrant.objects.create(user=user, season=stage.band.season, role=Role.EVALUATOR)
        assert stage.mark(client(user), contest, "10", "0").status_code == 404
        assert "Contest 1" not in text(client(user).get(reverse("marks")))
    assert not ContestMark.objects.exists()


def test_what_was_typed_stays_when_a_mark_is_wrong(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    clock.move_to(at(13, 9))
    response = stage.mark(stage.judge, contest, "10.5", "7.25")
    page = text(response)
    assert response.status_code == 200
    assert "Not saved yet" in page and 'value="10.5"' in page and 'value="7.25"' in page
    assert not ContestMark.objects.exists()
    stage.mark(stage.judge, contest, "9", "")
    assert ContestMark.objects.count() == 3, "one side first, the other later"
    stage.mark(stage.judge, contest, "", "7")
    assert {str(m.value) for m in ContestMark.objects.all()} == {"7.00"}, "emptied is taken away"


def test_sending_marks_again_writes_nothing(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    clock.move_to(at(13, 9))
    stage.mark(stage.judge, contest, "9", "7.5")
    before = AuditEntry.objects.count()
    stage.mark(stage.judge, contest, "9", "7.5")
    assert AuditEntry.objects.count() == before


def test_several_challengers_each_meet_the_holder(stage: Stage, clock: Any) -> None:
    """Ida wins by 0.5, Jon by 1: Jon has it; the decision is one step for the spot."""
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.jon, "1-3")
    ida, jon = stage.contest("Ida Voss"), stage.contest("Jon Pell")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, ida, "8.5", "8")
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "Decide by these figures" not in page, "Jon's is not marked yet"
    assert "mark it or call it off" in stage.press("contest-decide", ida, seen="")
    stage.mark(stage.judge, jon, "9", "8")
    assert "Jon Pell wins 1-3" in stage.decide(first_of(stage, ida, jon))
    ida.refresh_from_db()
    jon.refresh_from_db()
    assert (ida.state, jon.state) == (ContestState.KEPT, ContestState.WON)
    assert ida.outcome["reason"] == "beaten"
    own = text(stage.ida.get(reverse("my-contests")))
    assert "Another challenger wins the spot. Your figure: 8.50 out of 10." in own
    assert "8.00" not in own and "9.00" not in own, "nobody else's figures"
    assert "You win the spot. Your figure: 9.00" in text(stage.jon.get(reverse("my-contests")))
    cai = text(client(stage.cast.member).get(reverse("my-contests")))
    assert "The challenger wins the spot" in cai and "Pell" not in cai


def first_of(stage: Stage, *contests: Contest) -> Contest:
    """The one that the spot's button on the round's page names."""
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    return next(c for c in contests if reverse("contest-decide", args=[c.pk]) in page)


def test_equally_wide_wins_leave_the_holder_and_say_so(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.jon, "1-3")
    ida, jon = stage.contest("Ida Voss"), stage.contest("Jon Pell")
    clock.move_to(at(13, 18))
    for contest in (ida, jon):
        stage.mark(stage.judge, contest, "9", "8")
    assert "Cai Ørnberg keeps 1-3" in stage.decide(first_of(stage, ida, jon))
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert page.count("another challenger by just as much: the holder keeps the spot") == 2


def test_a_decision_is_about_the_figures_that_were_seen(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, contest, "9", "8")
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    seen = re.search(r'name="seen" value="([^"]*)"', page)
    assert seen
    stage.mark(stage.judge, contest, "7", "8")
    assert "Marks came in meanwhile" in stage.press("contest-decide", contest, seen=seen[1])
    contest.refresh_from_db()
    assert contest.state == ContestState.ASKED
    stage.decide(contest)
    assert "was decided already by Staff" in stage.press("contest-decide", contest, seen=seen[1])


@pytest.fixture
def won(stage: Stage, clock: Any) -> Contest:
    """Ida has won 1-3, not in effect yet."""
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, contest, "9", "8")
    stage.decide(contest)
    contest.refresh_from_db()
    assert contest.state == ContestState.WON
    return contest


def test_a_win_waits_for_the_performance_before_it(stage: Stage, won: Contest, clock: Any) -> None:
    ContestRound.objects.filter(pk=stage.round.pk).update(effective=stage.later)
    assert "Brackenfield at home on Sat 17 Oct comes before it" in stage.press(
        "contest-effect", won
    )
    assert holder(stage.band, "1-3") == "Cai Ørnberg"
    won.refresh_from_db()
    assert won.applied_at is None, "nothing is half done"
    clock.move_to(at(18, 9))
    assert "from 24 Oct 2099" in text(
        client(stage.cast.staff).post(reverse("contest-effect", args=[won.pk]), follow=True)
    )


def test_a_win_put_into_effect_late_does_not_change_the_past(
    stage: Stage, won: Contest, clock: Any
) -> None:
    clock.move_to(at(20, 9))
    client(stage.cast.staff).post(reverse("contest-effect", args=[won.pk]))
    spot, season = stage.band.spots["1-3"].pk, stage.band.season
    cai = stage.band.members["Cai Ørnberg"].pk
    assert roster.holders_on(season, datetime.date(2099, 10, 17))[spot] == cai
    assert roster.holders_on(season, datetime.date(2099, 10, 19))[spot] == cai
    ida = stage.band.members["Ida Voss"].pk
    assert roster.holders_on(season, datetime.date(2099, 10, 20))[spot] == ida


def test_a_win_is_void_when_somebody_moved(stage: Stage, won: Contest) -> None:
    band = stage.band
    cai = Holding.objects.get(spot=band.spots["1-3"])
    AlternatePlace.objects.filter(member=band.members["Ida Voss"]).delete()
    assert "Ida Voss is no longer an alternate" in stage.press("contest-effect", won)
    cai.ends = datetime.date(2099, 10, 14)
    cai.save()
    assert "Cai Ørnberg no longer holds 1-3" in stage.press("contest-effect", won)
    Member.objects.filter(pk=band.members["Ida Voss"].pk).update(status="left")
    won.refresh_from_db()
    assert won.applied_at is None and won.holding is None


def test_a_spot_with_a_win_not_in_effect_takes_no_request(stage: Stage, won: Contest) -> None:
    assert "1-3 is protected in Week 10" in stage.ask(stage.jon, "1-3", stage.next)


def test_what_is_in_effect_is_not_taken_back(stage: Stage, won: Contest) -> None:
    stage.press("contest-effect", won)
    assert "is in effect already" in stage.press("contest-take-back", won)
    won.refresh_from_db()
    assert won.state == ContestState.WON
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "in effect" in page and "Take the decision back" not in page


def test_a_new_contest_after_the_win_is_with_the_new_holder(
    stage: Stage, won: Contest, clock: Any
) -> None:
    stage.press("contest-effect", won)
    stage.ask(stage.jon, "1-3", stage.next)
    assert stage.contest("Jon Pell").holder == stage.band.members["Ida Voss"]


def test_challengers_call_off_their_own_until_it_is_held(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    contest = stage.contest("Ida Voss")
    url = reverse("contest-call-off", args=[contest.pk])
    assert stage.jon.post(url).status_code == 403
    assert client(stage.cast.member).post(url).status_code == 403, "the holder cannot"
    assert stage.ida.post(url).status_code == 302
    assert "You have asked for 1-1" in stage.ask(stage.ida, "1-1"), "and may ask for another"
    contest = stage.contest("Ida Voss")
    clock.move_to(at(13, 17))
    assert stage.ida.post(reverse("contest-call-off", args=[contest.pk])).status_code == 403
    assert "called off" in stage.press("contest-call-off", contest)


def test_what_is_marked_stays_while_marks_wait(stage: Stage, won: Contest, clock: Any) -> None:
    """A decision keeps the figures it was made on, whatever is marked later."""
    criterion = ContestCriterion.objects.earliest("pk")
    url = reverse("contest-criterion", args=[criterion.pk])
    data = {"name": criterion.name, "top": 10, "weight": 5, "order": 1}
    stage.press("contest-take-back", won)
    assert "decide those first" in text(stage.staff.post(url, data))
    stage.decide(won)
    assert stage.staff.post(url, data).status_code == 302
    page = text(stage.staff.get(reverse("round", args=[stage.round.pk])))
    assert "9.00 to 8.00: the challenger takes the spot" in page
    remove = reverse("contest-criterion-remove", args=[criterion.pk])
    assert "it stays" in text(stage.staff.post(remove, follow=True))


def test_a_round_keeps_its_times_in_the_seasons_zone(stage: Stage) -> None:
    stage.round.refresh_from_db()
    assert stage.round.closes_at == at(12, 12)
    page = text(stage.staff.get(reverse("round-edit", args=[stage.round.pk])))
    assert 'value="2099-10-12T12:00"' in page
    page = text(stage.staff.get(reverse("contests")))
    assert "Mon 12 Oct, 12:00 PM" in page


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"closes_at": "2099-10-01T12:00"}, "Sign-up opens, closes, and then"),
        ({"held_at": "2099-10-12T11:00"}, "Sign-up opens, closes, and then"),
        ({"held_at": "2099-10-18T17:00"}, "is before the day the contests are held"),
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


def test_every_step_leaves_its_line_in_the_audit(stage: Stage, won: Contest) -> None:
    stage.press("contest-effect", won)
    record_view(stage.cast.staff, "x", 1, "nothing")
    actions = set(AuditEntry.objects.values_list("action", flat=True))
    assert actions >= {
        "save contest round",
        "add contest criteria",
        "ask for spot",
        "mark contest",
        "decide contest",
        "put win into effect",
    }
    change = AuditEntry.objects.filter(action="put win into effect")
    assert {e.table for e in change} >= {
        "drill_contest",
        "roster_holding",
        "roster_alternateplace",
    }
    assert Lineup.objects.count() == 2, "no lineup is made or changed by it"


def test_the_alternates_page_asks_as_often_for_more_spots(stage: Stage) -> None:
    def count() -> int:
        with CaptureQueriesContext(connection) as context:
            assert "Ask for 1-3" in text(stage.ida.get(reverse("my-contests")))
        return len(context)

    count()
    before = count()
    add_rank(stage.band, 12)
    stage.ask(stage.kit, "1-3", stage.round)
    assert count() <= before


def test_a_contest_called_off_does_not_hold_up_the_others(stage: Stage, clock: Any) -> None:
    stage.ask(stage.ida, "1-3")
    stage.ask(stage.jon, "1-3")
    ida, jon = stage.contest("Ida Voss"), stage.contest("Jon Pell")
    clock.move_to(at(13, 18))
    stage.mark(stage.judge, ida, "9", "8")
    stage.mark(stage.judge, jon, "8.5", "8")
    stage.press("contest-call-off", ida)
    assert "Jon Pell wins 1-3" in stage.decide(jon)
    ida.refresh_from_db()
    assert ida.state == ContestState.CALLED_OFF
