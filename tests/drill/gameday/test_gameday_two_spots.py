"""One alternate for two spots: whatever the order and however each was wanted, one card."""

from __future__ import annotations

import datetime
import uuid
from collections.abc import Callable
from dataclasses import replace

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from drill.events.models import Segment
from drill.gameday.models import Clash, DayChange
from drill.gameday.services.clashes import decide_clash
from drill.gameday.services.fills import Outcome
from drill.gameday.services.openings import open_spots
from drill.gameday.services.swaps import Swap, swap
from drill.publishing.models import Notice
from tests.answers import text
from tests.drill.gameday.gameday_desk import ask, at, number, open_wish, opened, out, wish
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]
SignIn = Callable[[User | None], Client]
BO, CAI, GUS, JON, IDA = "Bo Larkspur", "Cai Ørnberg", "Gus Tamm", "Jon Pell", "Ida Voss"


@pytest.fixture
def two_open(out: Band, cast: Cast) -> Band:
    """1-2 and 1-3 are open in revision 3."""
    ask(out, cast, wish(out, CAI, None))
    ask(out, cast, wish(out, BO, None, seen=2))
    return out


def minutes_ago(minutes: int) -> datetime.datetime:
    return timezone.now() - datetime.timedelta(minutes=minutes)


def the_card(outcome: Outcome) -> Clash:
    assert outcome.change is None and outcome.clash is not None
    return outcome.clash


def open_now(band: Band) -> set[tuple[str, str]]:
    return {(str(o.spot), o.where) for o in open_spots(opened(band))}


def do_swap(band: Band, cast: Cast, one: str, two: str, seen: int, *segments: Segment) -> Outcome:
    asked = frozenset(segment.pk for segment in segments)
    made = Swap(band.members[one], band.members[two], seen, uuid.uuid4(), asked)
    return swap(actor=cast.staff, event=band.event, wish=made)


def test_two_open_spots_that_want_one_alternate_are_a_card(two_open: Band, cast: Cast) -> None:
    ask(two_open, cast, open_wish(two_open, "1-3", JON, 3))
    late = replace(open_wish(two_open, "1-2", JON, 3), at=minutes_ago(20))
    clash = the_card(ask(two_open, cast, late))
    assert the_card(ask(two_open, cast, late)) == clash, "sent twice it is one card"
    assert (str(clash.spot), clash.standing, clash.wanted) == ("1-2", None, two_open.members[JON])
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(two_open, "Pregame", "1-2") == at(two_open, "Halftime", "1-2") == JON
    assert open_now(two_open) == {("1-3", "Pregame, Halftime")}


def test_the_other_spot_stays_open_when_the_alternate_is_kept(two_open: Band, cast: Cast) -> None:
    ask(two_open, cast, open_wish(two_open, "1-3", JON, 3))
    clash = the_card(ask(two_open, cast, open_wish(two_open, "1-2", JON, 3)))
    decide_clash(actor=cast.staff, clash=clash, take=False)
    assert at(two_open, "Halftime", "1-3") == JON
    assert open_now(two_open) == {("1-2", "Pregame, Halftime")}
    assert not any("stand_by" in n.content for n in Notice.objects.all())


def test_half_of_the_alternate_is_no_fill_by_itself(two_open: Band, cast: Cast) -> None:
    """The phone asked for both segments: where one is taken, all of it is to decide."""
    ask(two_open, cast, open_wish(two_open, "1-3", JON, 3, two_open.pregame))
    clash = the_card(ask(two_open, cast, open_wish(two_open, "1-2", JON, 3)))
    assert number(two_open) == 4
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert open_now(two_open) == {("1-3", "Pregame, Halftime")}


def test_an_alternate_who_stepped_in_for_somebody_is_wanted_at_an_open_spot(
    two_open: Band, cast: Cast
) -> None:
    ask(two_open, cast, wish(two_open, GUS, JON, seen=3))
    clash = the_card(ask(two_open, cast, open_wish(two_open, "1-2", JON, 3)))
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert open_now(two_open) == {("1-3", "Pregame, Halftime"), ("2-2", "Pregame, Halftime")}


def test_an_alternate_at_an_open_spot_is_wanted_for_somebody_who_is_out(
    two_open: Band, cast: Cast
) -> None:
    ask(two_open, cast, open_wish(two_open, "1-2", JON, 3))
    clash = the_card(ask(two_open, cast, wish(two_open, GUS, JON, seen=3)))
    assert clash.member_out == two_open.members[GUS]
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(two_open, "Halftime", "2-2") == JON
    assert ("1-2", "Pregame, Halftime") in open_now(two_open)


def test_an_alternate_who_was_swapped_in_is_wanted_at_an_open_spot(
    two_open: Band, cast: Cast
) -> None:
    assert do_swap(two_open, cast, JON, GUS, 3).change
    clash = the_card(ask(two_open, cast, open_wish(two_open, "1-2", JON, 3)))
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(two_open, "Halftime", "1-2") == JON
    assert ("2-2", "Pregame, Halftime") in open_now(two_open)


def test_a_late_swap_of_an_alternate_who_fills_a_spot_is_a_card(two_open: Band, cast: Cast) -> None:
    ask(two_open, cast, open_wish(two_open, "1-2", JON, 3))
    clash = the_card(do_swap(two_open, cast, JON, GUS, 3, two_open.halftime))
    assert (clash.standing, clash.wanted) == (two_open.members[GUS], two_open.members[JON])
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert (at(two_open, "Halftime", "2-2"), at(two_open, "Pregame", "1-2")) == (JON, JON)
    assert ("1-2", "Halftime") in open_now(two_open)
    told = Notice.objects.filter(member=two_open.members[GUS]).latest("lineup__number")
    assert told.content["stand_by"], "who was not chosen stands by"


def test_the_card_is_read_wherever_one_of_its_ranks_is_led(
    two_open: Band, cast: Cast, signed_in: SignIn
) -> None:
    ask(two_open, cast, wish(two_open, "Hal Brook", None, seen=3))
    ask(two_open, cast, open_wish(two_open, "1-3", JON, 4))
    late = replace(open_wish(two_open, "1-2", JON, 4), at=minutes_ago(20))
    clash = the_card(ask(two_open, cast, late))
    pages = [text(signed_in(cast.staff).get(reverse(name))) for name in ("desk", "week")]
    pages.append(text(signed_in(cast.leader).get(reverse("my-rank"))))
    for page in pages:
        assert "Jon Pell for two spots" in page
        wanted, put = page.index("wanted Jon Pell at 1-2"), page.index("put Jon Pell at 1-3")
        assert wanted < put, "by when it was recorded, not by when it arrived"
        assert "Choosing Jon Pell for 1-2 opens 1-3 (Pregame, Halftime)." in page
    assert "Keep Jon Pell at 1-3" in pages[0] and "Keep Jon Pell" not in pages[2]
    decide_clash(actor=cast.staff, clash=clash, take=False)


def test_a_leader_sees_a_card_that_would_open_a_spot_of_theirs(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    """The alternate marches in rank 1 and is wanted in rank 2."""
    ask(out, cast, wish(out, CAI, None))
    ask(out, cast, wish(out, GUS, None, seen=2))
    ask(out, cast, open_wish(out, "1-3", JON, 3))
    the_card(ask(out, cast, open_wish(out, "2-2", JON, 3)))
    assert "Jon Pell for two spots" in text(signed_in(cast.leader).get(reverse("my-rank")))


def test_cards_come_in_the_order_in_which_they_were_recorded(
    two_open: Band, cast: Cast, signed_in: SignIn
) -> None:
    ask(two_open, cast, open_wish(two_open, "1-3", IDA, 3))
    ask(two_open, cast, replace(open_wish(two_open, "1-2", IDA, 3), at=minutes_ago(5)))
    ask(two_open, cast, replace(open_wish(two_open, "1-3", JON, 3), at=minutes_ago(25)))
    page = text(signed_in(cast.staff).get(reverse("desk")))
    assert page.index("Two people for 1-3") < page.index("Ida Voss for two spots")


def test_a_change_keeps_when_it_was_recorded(two_open: Band, cast: Cast) -> None:
    when = minutes_ago(30)
    change = ask(two_open, cast, replace(open_wish(two_open, "1-3", JON, 3), at=when)).change
    assert change is not None and DayChange.objects.get(pk=change.pk).recorded_at == when


def test_what_came_of_it_is_said_on_the_phone(
    two_open: Band, cast: Cast, signed_in: SignIn
) -> None:
    ask(two_open, cast, open_wish(two_open, "1-3", JON, 3))
    form = {"spot": two_open.spots["1-2"].pk, "in": two_open.members[JON].pk, "number": 3}
    client, url = signed_in(cast.staff), reverse("desk-fill", args=[two_open.event.pk])
    answer = client.post(url, form, headers={"X-Queued": "1"}).json()
    assert answer["state"] == "done" and "already marches another spot" in answer["text"]
    url = reverse("desk-clash", args=[Clash.objects.get().pk])
    kept = text(client.post(url, {"take": "standing"}, follow=True))
    assert "Jon Pell stays where they march; 1-2 stays open." in kept
    client.post(reverse("desk-fill", args=[two_open.event.pk]), form)
    url = reverse("desk-clash", args=[Clash.objects.latest("pk").pk])
    taken = text(client.post(url, {"take": "wanted"}, follow=True))
    assert "1-2: Jon Pell marches. The spot they left is open: fill it at the desk." in taken


def test_a_chain_names_the_spot_that_would_open(
    two_open: Band, cast: Cast, signed_in: SignIn
) -> None:
    """Gus was to move to 1-3 and Kit to take 2-2; since then Kit fills 1-2."""
    ask(two_open, cast, open_wish(two_open, "1-2", "Kit Moss", 3))
    chain = replace(open_wish(two_open, "1-3", "Kit Moss", 3), mover=two_open.members[GUS])
    clash = the_card(ask(two_open, cast, chain))
    page = text(signed_in(cast.staff).get(reverse("desk")))
    assert "Choosing Gus Tamm for 1-3 opens 1-2 (Pregame, Halftime)." in page
    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert (at(two_open, "Halftime", "1-3"), at(two_open, "Halftime", "2-2")) == (GUS, "Kit Moss")
    assert ("1-2", "Pregame, Halftime") in open_now(two_open)
