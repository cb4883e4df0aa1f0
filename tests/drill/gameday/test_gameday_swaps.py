"""Two change places on the game-day desk: seen first, done once, taken back in one step."""

from __future__ import annotations

import datetime
import re
import uuid
from collections.abc import Callable

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from drill.absences.models import Absence
from drill.events.models import Segment
from drill.gameday.models import DayChange
from drill.gameday.services.fills import undo_change
from drill.gameday.services.swaps import Swap, swap
from drill.lineup.models import Pin
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, at, number, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]
BO, CAI, GUS, JON = "Bo Larkspur", "Cai Ørnberg", "Gus Tamm", "Jon Pell"


def do(
    band: Band, cast: Cast, first: str, second: str, *segments: Segment, seen: int = 1
) -> DayChange:
    asked = frozenset(segment.pk for segment in segments)
    made = Swap(band.members[first], band.members[second], seen, uuid.uuid4(), asked)
    change = swap(actor=cast.staff, event=band.event, wish=made).change
    assert change is not None
    return change


def test_the_desk_tells_a_swap_and_its_taking_back_in_words(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    def told() -> list[str]:
        page = text(signed_in(cast.staff).get(reverse("desk-of", args=[out.event.pk])))
        listed = page[page.index("Changes of the day") :]
        return re.findall(r"</span><span>([^<]*?)(?: <|<)", listed)

    change = do(out, cast, CAI, GUS)
    assert told() == [f"{CAI} and {GUS} swap. Revision 2, by Staff"]
    undo_change(actor=cast.director, change=change)
    ask(out, cast, wish(out, CAI, JON, seen=3))
    assert told() == [
        f"{CAI} out, {JON} steps in. Revision 4, by Staff",
        f"Taken back: {CAI} and {GUS} swap. Revision 3, by Director",
        f"{CAI} and {GUS} swap. Revision 2, by Staff",
    ]


def test_two_change_places_in_one_segment_and_back(out: Band, cast: Cast) -> None:
    change = do(out, cast, CAI, GUS, out.halftime)
    assert (at(out, "Halftime", "1-3"), at(out, "Halftime", "2-2")) == (GUS, CAI)
    assert (at(out, "Pregame", "1-3"), at(out, "Pregame", "2-2")) == (CAI, GUS)
    assert not Absence.objects.exists(), "nobody is out"
    undo_change(actor=cast.staff, change=change)
    assert (at(out, "Halftime", "1-3"), at(out, "Halftime", "2-2")) == (CAI, GUS)


def test_two_change_places_in_all_that_is_not_over(out: Band, cast: Cast) -> None:
    with time_machine.travel(out.event.local(datetime.time(15)), tick=False):
        do(out, cast, CAI, GUS)
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (CAI, GUS)


def test_an_alternate_takes_the_place_of_a_marcher(out: Band, cast: Cast) -> None:
    do(out, cast, JON, CAI)
    assert at(out, "Pregame", "1-3") == at(out, "Halftime", "1-3") == JON


def test_what_cannot_be_swapped_is_refused(out: Band, cast: Cast) -> None:
    with pytest.raises(Refused, match=" have nothing to swap"):
        do(out, cast, JON, "Ida Voss")
    with pytest.raises(Refused, match=" have nothing to swap"):
        do(out, cast, CAI, CAI)
    with pytest.raises(Refused, match="won't work"):
        do(out, cast, CAI, "Dee Quill")
    Pin.objects.create(event=out.event, spot=out.spots["1-3"], member=out.members[CAI])
    with pytest.raises(Refused) as refusal:
        do(out, cast, CAI, GUS)
    assert "lift the pin first" in refusal.value.details[0]
    assert number(out) == 1


def test_who_left_the_band_is_swapped_with_nobody(out: Band, cast: Cast) -> None:
    type(out.members[CAI]).objects.filter(pk=out.members[CAI].pk).update(status="left")
    with pytest.raises(Refused, match="won't work"):
        do(out, cast, CAI, GUS)
    with pytest.raises(Refused, match="won't work"):
        do(out, cast, "Fay Ashgrove", "Dee Quill")
    do(out, cast, BO, GUS)
    assert at(out, "Halftime", "1-2") == GUS


def test_a_swap_of_an_old_page_is_done_only_as_it_was_seen(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, BO, JON))
    do(out, cast, CAI, GUS, out.pregame, seen=1)
    with pytest.raises(Refused, match="just moved"):
        do(out, cast, CAI, GUS, out.pregame, seen=1)
    assert (at(out, "Pregame", "1-3"), at(out, "Halftime", "1-3")) == (GUS, CAI)


def test_sent_twice_it_is_done_once(out: Band, cast: Cast) -> None:
    made = Swap(out.members[CAI], out.members[GUS], 1, uuid.uuid4())
    first, second = (swap(actor=cast.staff, event=out.event, wish=made) for _ in range(2))
    assert first == second and number(out) == 2
    assert first.change is not None
    undo_change(actor=cast.staff, change=first.change)
    with pytest.raises(Refused, match="taken back"):
        swap(actor=cast.staff, event=out.event, wish=made)


def test_the_page_says_first_what_it_does(out: Band, cast: Cast, signed_in: SignIn) -> None:
    staff, url = signed_in(cast.staff), reverse("desk-swap", args=[out.event.pk])
    cai, gus, dee = (out.members[n].pk for n in (CAI, GUS, "Dee Quill"))
    asked = {"first": cai, "second": gus, "segments": out.halftime.pk}
    page = staff.get(url, asked)
    assert page.context["changes"] == [
        "Halftime: Cai Ørnberg moves from 1-3 to 2-2",
        "Halftime: Gus Tamm moves from 2-2 to 1-3",
    ]
    assert "Swap Cai Ørnberg and Gus Tamm in Halftime</button>" in page.content.decode()
    answer = staff.post(url, {"first": cai, "second": gus, "number": 1} | asked)
    assert answer["Location"] == reverse("desk-change", args=[DayChange.objects.get().pk])
    page = staff.get(url, {"first": cai, "second": dee})
    assert page.context["faults"] and "</button></form>" in page.content.decode()
    assert "Swap Cai Ørnberg and Dee Quill" not in page.content.decode()
    text = staff.post(url, {"first": cai, "number": 1}, follow=True).content.decode()
    assert "Choose two people." in text
