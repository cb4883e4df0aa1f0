"""Nothing of an earlier revision is lost behind a later one: members read, leaders tell, and slips
say all that nobody has told them yet."""

from __future__ import annotations

import io
import re
import uuid
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.accounts.models import User
from drill.events.models import Segment
from drill.gameday.services.swaps import Swap, swap
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice
from drill.publishing.queries import unreached
from tests.answers import text
from tests.drill.gameday.gameday_desk import out
from tests.drill.leaving.leavers import newest
from tests.drill.publishing.revision_prints import texts
from tests.factories import Band, Cast

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("notices are locked")]
SignIn = Callable[[User | None], Client]
BO, CAI, GUS = "Bo Larkspur", "Cai Ørnberg", "Gus Tamm"
HALFTIME = "Halftime: you move from 1-3 to 1-2"
PREGAME = "Pregame: you move from 1-3 to 2-2"


def swapped(band: Band, cast: Cast, other: str, segment: Segment, seen: int) -> None:
    made = Swap(band.members[CAI], band.members[other], seen, uuid.uuid4(), frozenset([segment.pk]))
    swap(actor=cast.staff, event=band.event, wish=made)


@pytest.fixture
def twice(out: Band, cast: Cast) -> Band:
    """Cai moves at halftime by revision 2, and in pregame by revision 3."""
    swapped(out, cast, BO, out.halftime, 1)
    swapped(out, cast, GUS, out.pregame, 2)
    return out


def states(band: Band) -> list[str]:
    rows = Notice.objects.filter(member=band.members[CAI], lineup__number__gt=1)
    return list(rows.order_by("lineup__number").values_list("state", flat=True))


def news_on(page: str) -> str:
    found = re.search(r'name="news" value="(\w+)"', page)
    assert found is not None
    return found[1]


def test_a_card_opened_late_says_both(twice: Band, cast: Cast, signed_in: SignIn) -> None:
    member = signed_in(cast.member)
    page = text(member.get(reverse("card")))
    assert HALFTIME in page and PREGAME in page
    assert states(twice) == [NoticeState.SEEN] * 2
    notice = newest(twice).notices.get(member=twice.members[CAI])
    form = {"news": news_on(page)}
    said = text(member.post(reverse("notice-confirm", args=[notice.pk]), form, follow=True))
    assert "staff can see you read revision 3." in said and "more news" not in said
    assert states(twice) == [NoticeState.CONFIRMED] * 2
    again = text(member.post(reverse("notice-confirm", args=[notice.pk]), form, follow=True))
    assert "staff can see you read revision 3." in again, "sent twice is said once"


def test_what_was_read_before_more_came_is_read_and_the_rest_is_not(
    out: Band, cast: Cast, signed_in: SignIn
) -> None:
    swapped(out, cast, BO, out.halftime, 1)
    member = signed_in(cast.member)
    read = news_on(text(member.get(reverse("card"))))
    notice = newest(out).notices.get(member=out.members[CAI])
    swapped(out, cast, GUS, out.pregame, 2)
    url = reverse("notice-confirm", args=[notice.pk])
    said = text(member.post(url, {"news": read}, follow=True))
    assert "you read revision 2. There is newer news: read it below." in said
    assert PREGAME in said and HALFTIME not in said
    assert states(out)[0] == NoticeState.CONFIRMED


def test_a_leader_tells_both_and_then_both_are_told(
    twice: Band, cast: Cast, signed_in: SignIn
) -> None:
    Notice.objects.filter(member=twice.members[CAI]).update(state=NoticeState.NOT_REACHED)
    leader = signed_in(cast.leader)
    page = text(leader.get(reverse("my-rank")))
    told = page[page.index(f"What to tell {CAI}") :]
    assert HALFTIME in told and PREGAME in told
    notice = newest(twice).notices.get(member=twice.members[CAI])
    form = {"news": news_on(page[: page.index(f"What to tell {CAI}")].rsplit("<li>", 1)[1])}
    leader.post(reverse("notice-told", args=[notice.pk]), form)
    assert states(twice) == [NoticeState.TOLD] * 2
    assert f"What to tell {CAI}" not in text(leader.get(reverse("my-rank")))


def test_who_was_told_one_change_alone_is_still_to_be_told_the_other(
    twice: Band, cast: Cast, signed_in: SignIn
) -> None:
    """On the page of one change staff tell that change."""
    Notice.objects.filter(member=twice.members[CAI]).update(state=NoticeState.NOT_REACHED)
    notice = newest(twice).notices.get(member=twice.members[CAI])
    form = {"news": notice.news_key}
    signed_in(cast.staff).post(reverse("notice-told", args=[notice.pk]), form)
    assert states(twice) == [NoticeState.NOT_REACHED, NoticeState.TOLD]
    page = text(signed_in(cast.leader).get(reverse("my-rank")))
    told = page[page.index(f"What to tell {CAI}") :]
    assert HALFTIME in told and PREGAME not in told
    assert CAI in {n.member.name for n in unreached(newest(twice))}


def test_staff_who_tell_several_tell_all_of_it(twice: Band, cast: Cast, signed_in: SignIn) -> None:
    Notice.objects.filter(member=twice.members[CAI]).update(state=NoticeState.NOT_REACHED)
    notice = newest(twice).notices.get(member=twice.members[CAI])
    url = reverse("notices-told", args=[newest(twice).pk])
    signed_in(cast.staff).post(url, {"notice": notice.pk})
    assert states(twice) == [NoticeState.TOLD] * 2
    assert CAI not in {n.member.name for n in unreached(newest(twice))}


def test_the_slip_of_the_later_change_has_what_was_missed_before(
    twice: Band, cast: Cast, signed_in: SignIn
) -> None:
    def slip() -> str:
        url = reverse("slip", args=[newest(twice).pk, twice.members[CAI].pk])
        answer = signed_in(cast.staff).get(url)
        [page] = texts(PdfReader(io.BytesIO(answer.content)))
        return page

    assert HALFTIME in slip() and PREGAME in slip()
    first = Notice.objects.filter(member=twice.members[CAI], lineup__number=2)
    first.update(state=NoticeState.CONFIRMED)
    assert HALFTIME not in slip() and PREGAME in slip()
