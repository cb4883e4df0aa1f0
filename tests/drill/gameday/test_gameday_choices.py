"""The game-day desk: two at once become one card, and nobody is silently overwritten."""

from __future__ import annotations

from typing import Any

import pytest
from django.urls import reverse

from bandops.lib.errors import Refused
from drill.absences.models import Absence
from drill.gameday.models import Clash
from drill.gameday.services.clashes import decide_clash
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import place_by_hand
from drill.publishing.enums import NoticeState
from drill.publishing.services.publishing import publish_lineup
from tests.drill.gameday.gameday_desk import ask, at, number, out, wish
from tests.factories import Band, Cast
from tests.factories.cast import account_of

__all__ = ["out"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked, JSON is compared")]


def test_two_fills_of_one_spot_become_one_card(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    outcome = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss"))
    assert outcome.change is None and outcome.clash is not None
    assert at(out, "Halftime", "1-3") == "Jon Pell", "nobody is overwritten"
    clash = Clash.objects.get()
    assert (clash.standing, clash.wanted) == (out.members["Jon Pell"], out.members["Ida Voss"])

    decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == at(out, "Pregame", "1-3") == "Ida Voss"
    with pytest.raises(Refused, match="already"):
        decide_clash(actor=cast.staff, clash=clash, take=False)


def test_a_card_can_be_left_as_it_stands(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    clash = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss")).clash
    assert clash is not None
    assert decide_clash(actor=cast.staff, clash=clash, take=False).state == "kept"
    assert at(out, "Halftime", "1-3") == "Jon Pell"
    assert number(out) == 2


def test_the_same_person_wanted_by_two_is_no_conflict(out: Band, cast: Cast) -> None:
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    again = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    assert again.change is None and again.clash is None
    assert number(out) == 2 and not Clash.objects.exists()


def two_fills(out: Band, cast: Cast) -> Clash:
    """Jon stands at 1-3; somebody with an old page wants Ida there."""
    ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell"))
    clash = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss")).clash
    assert clash is not None
    return clash


def test_a_choice_overwrites_nobody_whom_the_card_does_not_name(out: Band, cast: Cast) -> None:
    clash = two_fills(out, cast)
    ask(out, cast, wish(out, "Jon Pell", "Kit Moss", seen=2))
    with pytest.raises(Refused, match="1-3 has changed hands again"):
        decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-3") == "Kit Moss"
    assert decide_clash(actor=cast.staff, clash=clash, take=False).state == "kept"


def test_a_choice_opens_no_hole_elsewhere(out: Band, cast: Cast) -> None:
    clash = two_fills(out, cast)
    ask(out, cast, wish(out, "Bo Larkspur", "Ida Voss", seen=2))
    with pytest.raises(Refused, match="Ida Voss already marches another spot"):
        decide_clash(actor=cast.staff, clash=clash, take=True)
    assert at(out, "Halftime", "1-2") == "Ida Voss"


def test_that_somebody_is_out_is_kept_when_two_filled_their_spot(out: Band, cast: Cast) -> None:
    """Staff had put Jon there for a reason of their own: nobody had said that Cai is out."""
    for segment in (out.pregame, out.halftime):
        draft = open_draft(actor=cast.staff, event=out.event)
        place_by_hand(
            actor=cast.staff,
            event=out.event,
            seen_version=draft.version,
            segment=segment,
            spot=out.spots["1-3"],
            member=out.members["Jon Pell"],
        )
    draft.refresh_from_db()
    publish_lineup(actor=cast.staff, event=out.event, seen_version=draft.version, seen_number=1)
    outcome = ask(out, cast, wish(out, "Cai Ørnberg", "Ida Voss", seen=1))
    assert outcome.clash is not None
    assert Absence.objects.get().member == out.members["Cai Ørnberg"]


def test_news_stays_on_the_card_when_a_later_revision_concerns_others(
    out: Band, cast: Cast, signed_in: Any
) -> None:
    change = ask(out, cast, wish(out, "Cai Ørnberg", "Jon Pell")).change
    assert change is not None
    ask(out, cast, wish(out, "Gus Tamm", "Kit Moss", seen=2))
    jon = out.members["Jon Pell"]
    leader = signed_in(cast.leader).get(reverse("my-rank"))
    assert "Jon Pell" in {n.newest.member.name for n, _ in leader.context["notices"]}
    page = signed_in(account_of(jon)).get(reverse("card"))
    assert "Revision 2: what changed for you" in page.content.decode()
    notice = change.after.notices.get(member=jon)
    assert notice.state == NoticeState.SEEN and notice.seen_at is not None
    confirm = reverse("notice-confirm", args=[notice.pk])
    assert confirm in page.content.decode()
    leader = signed_in(cast.leader).get(reverse("my-rank"))
    assert "Jon Pell" not in {n.newest.member.name for n, _ in leader.context["notices"]}
