"""Decisions that waited on a phone: done once, and never over somebody else's."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from drill.events.models import Event
from drill.gameday.models import Clash, DayChange, FillRequest
from drill.gameday.services.clashes import decide_clash
from drill.gameday.services.fills import undo_change
from drill.gameday.services.requests import withdraw
from drill.lineup.core.problem import LineupProblem
from drill.lineup.services import facts
from drill.lineup.services.rows import Rows
from tests.drill.gameday.gameday_desk import ask, at, number, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked")]
SignIn = Callable[[User | None], Client]
CAI, JON, IDA = "Cai Ørnberg", "Jon Pell", "Ida Voss"


def send(client: Client, name: str, pk: int, **data: str) -> dict[str, Any]:
    """What the phone sends when the network is back."""
    answer = client.post(reverse(name, args=[pk]), data, headers={"X-Queued": "later"})
    told: dict[str, Any] = answer.json()
    return told


@pytest.fixture
def asked(out: Band, signed_in: SignIn, cast: Cast) -> FillRequest:
    """After the cut-off staff asked for Jon."""
    cut_off = timezone.now() - datetime.timedelta(hours=1)
    Event.objects.filter(pk=out.event.pk).update(cut_off=cut_off)
    form = {"out": out.members[CAI].pk, "in": out.members[JON].pk, "number": 1}
    signed_in(cast.staff).post(reverse("desk-fill", args=[out.event.pk]), form)
    return FillRequest.objects.get()


def test_an_approval_that_arrives_twice_is_done_once(
    out: Band, asked: FillRequest, cast: Cast, signed_in: SignIn
) -> None:
    director = signed_in(cast.director)
    told = [send(director, "desk-request-approve", asked.pk) for _ in range(2)]
    assert [t["state"] for t in told] == ["done", "done"]
    assert "Approved: revision 2" in told[1]["text"]
    assert (number(out), at(out, "Halftime", "1-3")) == (2, JON)


def test_an_approval_of_what_was_withdrawn_meanwhile_is_refused(
    out: Band, asked: FillRequest, cast: Cast, signed_in: SignIn
) -> None:
    withdraw(actor=cast.staff, request=asked)
    told = send(signed_in(cast.director), "desk-request-approve", asked.pk)
    assert told == {"state": "refused", "text": "This request is already withdrawn."}
    assert number(out) == 1


def test_a_decline_that_arrives_twice_is_done_once_and_undoes_no_approval(
    asked: FillRequest, cast: Cast, signed_in: SignIn
) -> None:
    director = signed_in(cast.director)
    for _ in range(2):
        assert send(director, "desk-request-decline", asked.pk, reason="No")["state"] == "done"
    told = send(director, "desk-request-approve", asked.pk)
    assert told == {"state": "refused", "text": "This request is already declined."}


def test_a_change_taken_back_twice_is_taken_back_once(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    change = ask(out, cast, wish(out, CAI, JON)).change
    assert change is not None
    told = [send(signed_in(cast.director), "desk-undo", change.pk) for _ in range(2)]
    assert [t["state"] for t in told] == ["done", "done"]
    assert (number(out), at(out, "Halftime", "1-3")) == (3, CAI)


def test_a_change_that_somebody_else_took_back_is_no_news_of_ones_own(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    change = ask(out, cast, wish(out, CAI, JON)).change
    assert change is not None
    undo_change(actor=cast.staff, change=change)
    told = send(signed_in(cast.director), "desk-undo", change.pk)
    assert (told["state"], number(out)) == ("refused", 3)


@pytest.fixture
def clash(out: Band, cast: Cast) -> Clash:
    """Jon and Ida were both wanted for 1-3."""
    ask(out, cast, wish(out, CAI, JON))
    found = ask(out, cast, wish(out, CAI, IDA)).clash
    assert found is not None
    return found


def test_a_card_decided_twice_the_same_way_is_decided_once(
    out: Band, clash: Clash, cast: Cast, signed_in: SignIn
) -> None:
    director = signed_in(cast.director)
    told = [send(director, "desk-clash", clash.pk, take="wanted") for _ in range(2)]
    assert [t["state"] for t in told] == ["done", "done"]
    assert told[1]["text"] == f"1-3: {IDA} marches."
    assert DayChange.objects.count() == 2
    other = send(director, "desk-clash", clash.pk, take="standing")
    assert other["state"] == "refused" and at(out, "Halftime", "1-3") == IDA


def test_a_card_that_somebody_else_decided_says_how(
    out: Band, clash: Clash, cast: Cast, signed_in: SignIn
) -> None:
    decide_clash(actor=cast.staff, clash=clash, take=False)
    told = send(signed_in(cast.director), "desk-clash", clash.pk, take="wanted")
    assert told["state"] == "refused"
    assert told["text"] == f"{cast.staff} already decided this: 1-3: {JON} marches."
    assert at(out, "Halftime", "1-3") == JON


def test_a_fill_reads_the_lineups_problem_once(
    out: Band, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    made: list[object] = []
    whole = facts.problem

    def counted(rows: Rows) -> LineupProblem:
        made.append(rows)
        return whole(rows)

    monkeypatch.setattr(facts, "problem", counted)
    assert ask(out, cast, wish(out, CAI, JON)).change is not None
    assert len(made) == 1
