"""Pass-offs: who has to pass what, who hears it, and the risk of it in a lineup."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.lineup.services.drafts import open_draft
from roster.music import services
from roster.music.models import Excerpt, Hearing, SectionLeader
from roster.music.queries import board_of, not_passed, passings_of
from roster.people.queries import instruments
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

SignedIn = Callable[[User | None], Client]
DUE = datetime.date(2099, 9, 1)


@pytest.fixture
def opener(band: Band) -> Excerpt:
    """Everybody's."""
    return Excerpt.objects.create(season=band.season, name="Opener", due=DUE)


@pytest.fixture
def solo(band: Band) -> Excerpt:
    """Clarinets' alone."""
    return Excerpt.objects.create(
        season=band.season, name="Solo", instrument=band.parts["clarinet"].instrument
    )


def hear(band: Band, actor: User, excerpt: Excerpt, name: str, *, passed: bool) -> Hearing:
    return services.note_hearing(
        actor=actor,
        excerpt=excerpt,
        member=band.members[name],
        passed=passed,
        key=uuid.uuid4(),
        at=None,
    )


def test_everybody_has_what_their_part_asks(band: Band, opener: Excerpt, solo: Excerpt) -> None:
    assert [p.excerpt for p in passings_of(band.members["Ana Núñez"])] == [opener]
    assert [p.excerpt for p in passings_of(band.members["Dee Quill"])] == [opener, solo]


def test_one_pass_is_enough_and_tries_are_counted(band: Band, cast: Cast, opener: Excerpt) -> None:
    for passed in (False, False, True, False):
        hear(band, cast.staff, opener, "Ana Núñez", passed=passed)
    [it] = passings_of(band.members["Ana Núñez"])
    assert it.heard == 4 and it.passed is not None and it.passed.heard_by == cast.staff


def test_whoever_has_not_passed_in_time_is_a_risk(band: Band, cast: Cast, opener: Excerpt) -> None:
    ana = band.members["Ana Núñez"]
    assert not not_passed(band.season, DUE - datetime.timedelta(days=1))
    assert not_passed(band.season, DUE)[ana.pk] == [opener]
    hear(band, cast.staff, opener, "Ana Núñez", passed=True)
    assert ana.pk not in not_passed(band.season, DUE)


def test_the_lineup_names_them_beside_the_doubtful(
    band: Band, cast: Cast, opener: Excerpt, signed_in: SignedIn
) -> None:
    for name in band.members:
        if name != "Ana Núñez":
            hear(band, cast.staff, opener, name, passed=True)
    open_draft(actor=cast.staff, event=band.event)
    url = reverse("lineup", args=[band.event.pk])
    page = signed_in(cast.staff).get(url).content.decode()
    assert "1 person has not passed their music" in page and "Ana Núñez</a>: Opener" in page


def test_nobody_hears_themselves(band: Band, cast: Cast, opener: Excerpt) -> None:
    with pytest.raises(Refused, match="Somebody else"):
        hear(band, cast.leader, opener, "Ana Núñez", passed=True)


def test_a_section_leader_hears_their_section_alone(
    band: Band, cast: Cast, opener: Excerpt, signed_in: SignedIn
) -> None:
    SectionLeader.objects.create(
        instrument=band.parts["trumpet"].instrument, member=band.members["Cai Ørnberg"]
    )
    client = signed_in(cast.member)
    assert "Ana Núñez" in client.get(reverse("music")).content.decode()
    sent = {"excerpt": opener.pk, "state": "passed", "key": str(uuid.uuid4())}
    url = reverse("music-hear")
    for _ in range(2):
        client.post(url, sent | {"member": band.members["Ana Núñez"].pk})
    assert Hearing.objects.count() == 1, "sent twice, heard once"
    other = client.post(url, sent | {"member": band.members["Dee Quill"].pk, "key": uuid.uuid4()})
    assert other.status_code == 403 and Hearing.objects.count() == 1
    assert signed_in(cast.other).get(reverse("music")).status_code == 403


def test_the_board_shows_who_is_left(band: Band, cast: Cast, opener: Excerpt) -> None:
    hear(band, cast.evaluator, opener, "Ana Núñez", passed=True)
    board = board_of(band.season, band.parts["trumpet"].instrument)
    assert board.excerpts == (opener,)
    assert board.open == len(board.rows) - 1


def test_the_board_opens_with_a_section_that_has_music(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    sections = list(instruments(band.season))
    last = sections[-1]
    client = signed_in(cast.staff)
    assert client.get(reverse("music")).context["instrument"] == sections[0]
    excerpt = Excerpt.objects.create(season=band.season, name="Solo", part=last.parts.first())
    assert client.get(reverse("music")).context["instrument"] == last
    Excerpt.objects.filter(pk=excerpt.pk).update(part=None)
    assert client.get(reverse("music")).context["instrument"] == sections[0], "for everybody"
