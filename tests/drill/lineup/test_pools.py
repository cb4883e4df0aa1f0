"""Who steps in first follows the season's pools: in proposals, at the desk, on every page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.keys import key
from drill.absences.enums import AbsenceKind
from drill.absences.models import Absence
from drill.gameday.core.fills import seats_of_member
from drill.gameday.services.desk import choices_for, open_desk
from drill.gameday.wording import choice_words
from drill.lineup import queries
from drill.lineup.core.problem import Level
from drill.lineup.services.problem_builder import build
from drill.lineup.services.proposals import propose, reasons
from drill.lineup.wording import Names, stand_in_sentence
from roster.people.enums import AlternatePool
from roster.ranks.models import AlternatePlace
from tests.answers import text
from tests.architecture.world import publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def five(band: Band) -> Band:
    """Ida is alternate 5 of rank 1, Kit alternate 1 of rank 2; Cai of 1-3 is out."""
    AlternatePlace.objects.filter(member=band.members["Jon Pell"]).delete()
    AlternatePlace.objects.filter(member=band.members["Ida Voss"]).update(standing=5)
    return band


def choose(band: Band, pool: AlternatePool) -> None:
    band.season.alternates_by = pool
    band.season.save()
    AlternatePlace.objects.update(pool=pool)


def cai_is_out(band: Band) -> None:
    Absence.objects.create(
        member=band.members["Cai Ørnberg"], event=band.event, kind=AbsenceKind.OUT
    )


@pytest.mark.parametrize(
    ("pool", "who", "points", "words"),
    [
        (AlternatePool.RANK, "Ida Voss", 9 * 128 + 5, "Alternate 5 of the rank"),
        (AlternatePool.SECTION, "Kit Moss", 9 * 128 + 1, "Alternate 1 of the section"),
        (AlternatePool.BAND, "Kit Moss", 9 * 128 + 1, "Alternate 1 of the band"),
    ],
)
def test_a_first_alternate_goes_before_a_fifth_of_the_same_pool(
    five: Band, pool: AlternatePool, who: str, points: int, words: str
) -> None:
    choose(five, pool)
    cai_is_out(five)
    built = build(five.event)
    proposal = propose(built)
    halftime, spot = key(five.halftime.pk), key(five.spots["1-3"].pk)
    placed = proposal.answer.at(halftime, spot)
    assert placed.member == key(five.members[who].pk)
    assert proposal.answer.value(Level.STANDING) == 2 * points, "pregame and halftime"
    reason = reasons(built, proposal.answer)[halftime, spot]
    assert stand_in_sentence(reason, Names(five.season.pk)).startswith(words)


def test_no_standing_is_a_claim_to_a_spot_of_another_part(five: Band) -> None:
    both = five.member("Both Ways", "trumpet", "clarinet", years=0)
    five.alternate("2", "trumpet", both, 2)
    choose(five, AlternatePool.BAND)
    Absence.objects.create(member=five.members["Dee Quill"], event=five.event, kind=AbsenceKind.OUT)
    proposal = propose(build(five.event))
    assert proposal.answer.value(Level.STANDING) == 2 * 10 * 128, "not a named backup"


@pytest.mark.parametrize(
    ("pool", "first", "words"),
    [
        (AlternatePool.RANK, "Ida Voss", "alternate 5 of the rank, ready"),
        (AlternatePool.BAND, "Kit Moss", "alternate 1 of the band, ready"),
    ],
)
def test_the_desk_offers_the_pool_in_its_order(
    five: Band, cast: Cast, pool: AlternatePool, first: str, words: str
) -> None:
    choose(five, pool)
    publish(five, cast.staff)
    desk = open_desk(five.event)
    assert desk is not None
    cai = key(five.members["Cai Ørnberg"].pk)
    found = choices_for(desk, seats_of_member(desk.field, cai, desk.clock.keys), cai)
    assert found[0].member == key(five.members[first].pk)
    assert choice_words(found[0], Names(five.season.pk)) == words


def test_a_change_of_pools_makes_a_lineup_old(five: Band, cast: Cast) -> None:
    made = publish(five, cast.staff)
    assert made.facts_hash == build(five.event).facts_hash
    choose(five, AlternatePool.BAND)
    last = queries.published(five.event)
    assert last is not None and last.facts_hash != build(five.event).facts_hash


def test_leaders_members_and_staff_read_the_pool_beside_the_standing(
    five: Band, cast: Cast, signed_in: SignIn
) -> None:
    choose(five, AlternatePool.BAND)
    publish(five, cast.staff)
    assert "alternate 5 of the band" in text(signed_in(cast.leader).get(reverse("my-rank")))
    staff = signed_in(cast.staff)
    assert "alternate 1 of the band, Rank 2" in text(staff.get(reverse("people")))
    five.season.refresh_from_db()
    assert "the whole band" in text(staff.get(reverse("alternates")))
