"""Wishes that came too late or cannot be done: one card each, and no report is lost."""

from __future__ import annotations

import dataclasses
import datetime
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone

from bandops.lib.errors import Refused
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_absence
from drill.gameday.models import Clash, DayChange, FillRequest
from drill.gameday.services.clashes import decide_clash
from drill.leaving.services.releasing import release_member
from drill.lineup import queries as lineup_queries
from drill.lineup.wording import Names
from drill.publishing.models import Notice
from drill.publishing.wording import notice_sentences
from tests.architecture.world import client_of
from tests.drill.gameday.gameday_desk import ask, at, number, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
CAI, GUS, JON, IDA = "Cai Ørnberg", "Gus Tamm", "Jon Pell", "Ida Voss"


def card(band: Band, cast: Cast, *wanted: Any, **more: Any) -> Clash:
    """The card that a wish becomes."""
    outcome = ask(band, cast, wish(band, *wanted, **more))
    assert outcome.change is None and outcome.clash is not None
    return outcome.clash


def said_out(band: Band, name: str) -> bool:
    return Absence.objects.filter(member=band.members[name], kind="out").exists()


def test_a_hole_against_a_person_is_a_card(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON))
    clash = card(out, cast, CAI, None)
    assert (clash.standing, clash.wanted) == (out.members[JON], None)
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == at(out, "Pregame", "1-3") == "nobody"


def test_a_person_against_a_hole_is_a_card(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, None))
    clash = card(out, cast, CAI, JON)
    assert (clash.standing, clash.wanted) == (None, out.members[JON])
    assert at(out, "Halftime", "1-3") == "nobody", "the hole was somebody's decision"
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == JON


def test_one_alternate_wanted_for_two_spots_is_a_card(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON))
    clash = card(out, cast, "Bo Larkspur", JON)
    assert said_out(out, "Bo Larkspur") and clash.leaves
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-2") == at(out, "Pregame", "1-2") == JON
    assert at(out, "Halftime", "1-3") == "nobody", "what they leave is open, not filled by anybody"


def test_an_alternate_kept_where_they_stand_is_told_nothing(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON))
    decide_clash(actor=cast.staff, clash=card(out, cast, "Bo Larkspur", JON), take=False)
    assert at(out, "Halftime", "1-3") == JON
    assert not any("stand_by" in n.content for n in Notice.objects.all())


def test_a_fill_against_a_release_is_a_card(out: Band, cast: Cast) -> None:
    release_member(actor=cast.staff, member=out.members[CAI], on=timezone.localdate())
    clash = card(out, cast, CAI, IDA)
    assert clash.standing == out.members[JON], "the first backup stepped in with the release"
    assert said_out(out, CAI)
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == IDA


def test_whoever_left_the_band_does_not_step_in(out: Band, cast: Cast) -> None:
    release_member(actor=cast.staff, member=out.members[JON], on=timezone.localdate())
    clash = card(out, cast, CAI, JON)
    assert clash.is_away and said_out(out, CAI)
    with pytest.raises(Refused):
        decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == CAI


def test_a_report_is_kept_where_nothing_is_to_fill(out: Band, cast: Cast) -> None:
    same = wish(out, "Kit Moss", JON)
    for _ in range(2):
        outcome = ask(out, cast, same)
        assert outcome.change is None and outcome.clash is None
    assert Absence.objects.count() == 1 and said_out(out, "Kit Moss")


def test_a_chain_that_came_too_late_is_offered_as_the_chain(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON))
    clash = card(out, cast, CAI, "Kit Moss", mover=GUS)
    assert (clash.chosen, clash.wanted) == (out.members[GUS], out.members["Kit Moss"])
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == GUS
    assert at(out, "Halftime", "2-2") == "Kit Moss"


def test_who_is_said_to_be_there_later_keeps_the_spot(out: Band, cast: Cast) -> None:
    """The fill was made at ten and arrived at half past; at a quarter past they had come."""
    back = Report(out.members[CAI], {"kind": "in", "event": out.event})
    report_absence(actor=cast.staff, report=back, by_staff=True)
    before = timezone.now() - datetime.timedelta(minutes=15)
    outcome = ask(out, cast, dataclasses.replace(wish(out, CAI, JON), at=before))
    assert outcome.change is None and outcome.clash is not None
    assert at(out, "Halftime", "1-3") == CAI
    assert said_out(out, CAI)


def stand_by(band: Band, name: str) -> list[str]:
    """What the newest notice of the member says of standing by."""
    notice = Notice.objects.filter(member=band.members[name]).latest("lineup__number")
    lines = notice_sentences(notice.content, Names(band.season.pk))
    return [line for line in lines if "stand by" in line]


@pytest.mark.parametrize(("take", "other", "marches"), [(True, JON, IDA), (False, IDA, JON)])
def test_who_was_not_chosen_is_told_to_stand_by(
    out: Band, cast: Cast, take: bool, other: str, marches: str
) -> None:
    ask(out, cast, wish(out, CAI, JON))
    decide_clash(actor=cast.staff, clash=card(out, cast, CAI, IDA), take=take)
    words = f"stand by in uniform; {marches} marches 1-3"
    assert stand_by(out, other) == [f"Pregame: {words}", f"Halftime: {words}"]
    assert not stand_by(out, CAI)


def test_a_notice_that_was_read_is_told_again_when_it_says_more(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, IDA))
    ask(out, cast, wish(out, IDA, JON, seen=2))
    lineup = lineup_queries.published(out.event)
    told = Notice.objects.get(lineup=lineup, member=out.members[IDA])
    Notice.objects.filter(pk=told.pk).update(state="confirmed", confirmed_at=timezone.now())
    Absence.objects.filter(member=out.members[IDA]).update(state="withdrawn")
    decide_clash(actor=cast.staff, clash=card(out, cast, CAI, IDA), take=False)
    told.refresh_from_db()
    assert told.state in ("waiting", "sent") and told.confirmed_at is None
    assert stand_by(out, IDA) and told.content["changes"]


def test_cards_stand_on_the_desk_the_week_and_the_pages_of_their_ranks(
    out: Band, cast: Cast
) -> None:
    ask(out, cast, wish(out, CAI, JON))
    clash = card(out, cast, CAI, IDA)
    words = "Two people for 1-3"
    for role, page in (("staff", "desk"), ("staff", "week"), ("leader", "my-rank")):
        html = client_of(cast, role).get(reverse(page)).content.decode()
        assert words in html, page
        assert (reverse("desk-clash", args=[clash.pk]) in html) == (role == "staff")
    ask(out, cast, wish(out, "Hal Brook", None, seen=2))
    other = card(out, cast, "Hal Brook", "Kit Moss", seen=2)
    assert str(other.spot) == "2-3"
    assert "2-3: open" not in client_of(cast, "leader").get(reverse("my-rank")).content.decode()


def test_a_card_says_when_it_was_wanted_and_when_it_arrived(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, CAI, JON))
    now = timezone.now()
    late = dataclasses.replace(wish(out, CAI, IDA), at=now - datetime.timedelta(minutes=30))
    ask(out, cast, late)
    html = client_of(cast, "staff").get(reverse("desk")).content.decode()
    assert "it arrived at" in html


@pytest.mark.parametrize("into", [JON, ""])
def test_what_came_of_a_wish_is_said(out: Band, cast: Cast, into: str) -> None:
    ask(out, cast, wish(out, CAI, IDA))
    data = {"out": out.members[CAI].pk, "number": 1}
    data |= {"in": out.members[into].pk} if into else {}
    client = client_of(cast, "staff")
    answer = client.post(reverse("desk-fill", args=[out.event.pk]), data, headers={"X-Queued": "1"})
    assert answer.json()["state"] == "done"
    assert "somebody else just filled it. Cai Ørnberg is marked out." in (answer.json()["text"])
    assert DayChange.objects.count() == 1 and number(out) == 2


def test_a_report_is_kept_past_the_cut_off(out: Band, cast: Cast) -> None:
    """Whoever sends it may not change the lineup any more and asks the director; Cai is out."""
    out.event.cut_off = timezone.now() - datetime.timedelta(hours=1)
    out.event.save()
    data = {"out": out.members[CAI].pk, "in": out.members[JON].pk, "number": 1}
    client = client_of(cast, "staff")
    answer = client.post(reverse("desk-fill", args=[out.event.pk]), data, headers={"X-Queued": "1"})
    assert answer.json()["state"] == "done"
    assert "Cai Ørnberg is marked out." in answer.json()["text"]
    assert said_out(out, CAI) and number(out) == 1 and FillRequest.objects.count() == 1
