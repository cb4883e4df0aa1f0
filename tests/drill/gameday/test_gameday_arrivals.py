"""Who is not here yet, on the game-day desk."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Iterator

import pytest
import time_machine

from drill.gameday.services.arrivals import not_here
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.gameday.gameday_desk import ask, opened, out, wish
from tests.drill.rehearsals.rehearsal_pages import note
from tests.drill.rehearsals.rehearsing import clock
from tests.factories import Band, Cast
from tests.factories.band import GAME_DAY

__all__ = ["out"]

pytestmark = pytest.mark.django_db
CAI, JON = "Cai Ørnberg", "Jon Pell"


def missed(band: Band) -> dict[str, tuple[bool, dict[str, str]]]:
    """Rank -> whether anybody is noted, and name -> what is noted of those not here."""
    return {
        group.rank.label: (group.noted, {one.member.name: one.word for one in group.people})
        for group in not_here(opened(band))
    }


@pytest.fixture
def called(out: Band, cast: Cast) -> Iterator[Band]:
    """Five past eleven: of rank 1 Ana and Bo are here, Cai is not; nobody has noted Dee and Eno.
    Nobody of rank 2 is noted."""
    with clock(11, 5, GAME_DAY):
        staff = client_of(cast, "staff")
        for name, state in (("Ana Núñez", "present"), ("Bo Larkspur", "late"), (CAI, "absent")):
            note(staff, out.event, out, name, state)
        yield out


def test_nobody_is_missed_before_the_call(out: Band) -> None:
    with clock(10, 59, GAME_DAY):
        assert missed(out) == {}


def test_whoever_has_not_come_is_listed_by_rank(called: Band) -> None:
    found = missed(called)
    assert found["1"] == (True, {CAI: "not here", "Dee Quill": "", "Eno Farrow": ""})
    assert not found["2"][0] and len(found["2"][1]) == 3


def test_whoever_comes_later_is_listed_no_more(called: Band, cast: Cast) -> None:
    with clock(11, 30, GAME_DAY):
        note(client_of(cast, "leader"), called.event, called, CAI, "present")
        assert CAI not in missed(called)["1"][1]
    with clock(12, 0, GAME_DAY):
        note(client_of(cast, "leader"), called.event, called, CAI, "left")
        assert missed(called)["1"][1][CAI] == "left early"


def test_whoever_is_out_is_listed_as_out_alone(called: Band, cast: Cast) -> None:
    ask(called, cast, wish(called, CAI, JON))
    assert CAI not in missed(called)["1"][1]
    assert missed(called)["1"][1][JON] == "", "steps in, and nobody has seen him"


def test_what_is_over_misses_nobody(called: Band) -> None:
    with time_machine.travel(called.event.local(datetime.time(23)), tick=False):
        assert missed(called) == {}


def test_the_desk_lists_them_with_both_buttons(called: Band, cast: Cast) -> None:
    staff, desk = client_of(cast, "staff"), f"/desk/{called.event.pk}/"
    page = text(staff.get(desk))
    assert "Not here yet" in page and "2: nobody marked yet, 3 expected" in page
    cai = called.members[CAI].pk
    assert f"/desk/{called.event.pk}/out/{cai}/" in page and "is here" in page
    sent = {"member": cai, "state": "present", "key": uuid.uuid4(), "next": desk}
    with clock(11, 10, GAME_DAY):
        response = staff.post(f"/rehearsals/{called.event.pk}/attendance/note/", sent)
        assert response["Location"] == desk
        assert CAI not in missed(called)["1"][1]


def test_a_stand_in_who_has_not_come_is_marked(called: Band, cast: Cast) -> None:
    staff = client_of(cast, "staff")
    note(staff, called.event, called, JON, "absent")
    page = text(staff.get(f"/desk/{called.event.pk}/out/{called.members[CAI].pk}/"))
    jon = page[page.index(JON) : page.index(JON) + 120]
    assert "not here" in jon
