"""Marks from a tablet: kept whatever their order, once, and only by who may give them."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from decimal import Decimal
from uuid import uuid4

import pytest
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from roster.tryouts.enums import TryoutState
from roster.tryouts.models import Mark, MarkChange, Recusal
from roster.tryouts.services.marking import Given, give_mark, mark_words, own_looks, read_mark
from roster.tryouts.services.marks import counting
from tests.factories import Cast, TryoutWorld

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("marks are merged under a lock, and kept by constraints"),
]

MORNING = datetime.datetime(2099, 8, 10, 15, tzinfo=datetime.UTC)
MINUTE = datetime.timedelta(minutes=1)
SignedIn = Callable[[User | None], Client]


def given(world: TryoutWorld, value: object, who: int = 0, criterion: int = 0) -> Given:
    return Given(
        world.panelists[0],
        world.candidates[who],
        world.criteria[criterion],
        world.sessions[0],
        None if value is None else Decimal(str(value)),
    )


def tap(world: TryoutWorld, value: object, minutes: int) -> None:
    actor = world.panelists[0].user
    give_mark(actor=actor, given=given(world, value), at=MORNING + minutes * MINUTE)


def now(world: TryoutWorld) -> str:
    [it] = counting(Mark.objects.filter(candidate=world.candidates[0]))
    return mark_words(it.value)


def test_the_last_word_counts_and_the_first_stays(world: TryoutWorld) -> None:
    tap(world, 7, 0)
    tap(world, 5, 1)
    assert now(world) == "5" and Mark.objects.get().value == 7
    tap(world, None, 2)
    assert now(world) == "not seen"


def test_taps_that_arrive_out_of_order_come_out_as_they_were_made(world: TryoutWorld) -> None:
    tap(world, 9, 5)
    tap(world, 4, 1)
    tap(world, 6, 3)
    assert now(world) == "9"
    assert {c.value for c in MarkChange.objects.all()} == {4, 6}, "none is lost"


def test_the_same_tap_sent_twice_is_one(world: TryoutWorld) -> None:
    for _ in range(3):
        tap(world, 7, 0)
        tap(world, 5, 1)
    assert Mark.objects.count() == 1 and MarkChange.objects.count() == 1


@pytest.mark.parametrize("value", [-1, 11, 10.5])
def test_a_mark_off_the_scale_is_refused(world: TryoutWorld, value: float) -> None:
    with pytest.raises(Refused, match="0 to 10"):
        tap(world, value, 0)
    assert not Mark.objects.exists()


def test_nobody_marks_whom_they_declared_a_relation_to(world: TryoutWorld) -> None:
    Recusal.objects.create(candidate=world.candidates[0], evaluator=world.panelists[0].user)
    with pytest.raises(Refused, match="relation"):
        tap(world, 7, 0)
    [look] = own_looks(world.panelists[0], world.sessions[0], [world.candidates[0]])
    assert look.recused and look.is_done


@pytest.mark.parametrize("state", [TryoutState.DRAFT, TryoutState.DECIDED])
def test_marks_are_taken_while_judging_alone(world: TryoutWorld, state: str) -> None:
    world.tryout.state = state
    world.tryout.save()
    with pytest.raises(Refused, match="Judging has"):
        tap(world, 7, 0)


@pytest.mark.parametrize(
    ("text", "value"),
    [("7", 7), (" 8.5 ", 8.5), ("8,5", 8.5), ("ns", None), ("Not seen", None), ("0", 0)],
)
def test_what_evaluators_write_is_read(text: str, value: float | None) -> None:
    assert read_mark(text) == (None if value is None else Decimal(str(value)))


@pytest.mark.parametrize("text", ["", "x", "nan", "inf", "-3", "1e9", "7 8"])
def test_what_is_no_mark_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="not a mark"):
        read_mark(text)


@pytest.mark.postgres("the constraint itself")
def test_the_database_keeps_one_mark_of_each(world: TryoutWorld) -> None:
    world.mark(world.candidates[0], world.panelists[0], world.sessions[0], 7, 7, 7)
    with pytest.raises(IntegrityError), transaction.atomic():
        world.mark(world.candidates[0], world.panelists[0], world.sessions[0], 5, 5, 5)


def test_an_evaluator_s_pages_know_numbers_and_no_names(
    world: TryoutWorld, cast: Cast, signed_in: SignedIn
) -> None:
    client = signed_in(cast.evaluator)
    group = world.panelists[0].groups.earliest("pk").group
    place = group.places.earliest("pk")
    for url in (
        reverse("marking"),
        reverse("group-looks", args=[group.pk]),
        reverse("look-other", args=[group.session_id, place.candidate_id]),
    ):
        page = client.get(url).content.decode()
        assert str(place.candidate.number) in page or url == reverse("marking")
        for candidate in world.candidates:
            assert candidate.person.name.split()[0] not in page


def test_a_tap_is_answered_with_its_row(
    world: TryoutWorld, cast: Cast, signed_in: SignedIn
) -> None:
    client = signed_in(cast.evaluator)
    group = world.panelists[0].groups.earliest("pk").group
    who = group.places.earliest("pk").candidate
    url = reverse("mark-note", args=[group.session_id, who.pk])
    sent = {"criterion": world.criteria[0].pk, "value": "8", "key": str(uuid4())}
    page = client.post(url, sent, headers={"HX-Request": "true"}).content.decode()
    assert 'aria-pressed="true" class="main">✓ 8</button>' in page
    assert f'id="n{who.pk}"' in page and "1/3" in page
    refused = client.post(url, sent | {"value": "80"}, headers={"X-Queued": "1"})
    assert refused.status_code == 409 and "0 to 10" in refused.json()["text"]
