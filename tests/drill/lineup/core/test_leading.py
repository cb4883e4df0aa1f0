"""Who leads a rank where its leader does not march."""

from __future__ import annotations

import pytest

from drill.lineup.core.leading import Leading, Marcher, who_leads
from drill.lineup.wording import leading_words

BEN, ANA, CY, DEE = 1, 2, 3, 4
NAMES = {BEN: "Ben", ANA: "Ana", CY: "Cy", DEE: "Dee"}
OLD = Marcher(DEE, years=3, order=9)


def lead(*marchers: Marcher, leaders: tuple[int, ...] = (BEN, ANA)) -> Leading | None:
    return who_leads(leaders, marchers)


def words(*marchers: Marcher) -> str:
    found = lead(*marchers)
    return leading_words(found, NAMES) if found else ""


def test_the_leader_leads_where_they_march() -> None:
    assert lead(Marcher(BEN, 0, 5), Marcher(ANA, 9, 1), OLD) is None


def test_then_the_assistant_leader_whatever_others_have_marched() -> None:
    assert lead(Marcher(ANA, 0, 5), OLD) == Leading(BEN, (ANA,))
    assert words(Marcher(ANA, 0, 5), OLD) == "Ana leads (for Ben, out)"


def test_then_who_has_marched_longest_and_of_equals_the_first_in_the_rank() -> None:
    assert lead(Marcher(CY, 2, 1), OLD) == Leading(BEN, (DEE,))
    assert lead(Marcher(CY, 3, 1), OLD) == Leading(BEN, (CY,))
    assert lead(OLD, Marcher(CY, 3, 12)) == Leading(BEN, (DEE,))


def test_the_ranks_own_go_before_who_stands_in_from_elsewhere() -> None:
    assert lead(Marcher(CY, 0, 1), Marcher(DEE, 4, 0, own=False)) == Leading(BEN, (CY,))
    assert lead(Marcher(DEE, 4, 0, own=False)) == Leading(BEN, (DEE,))


def test_a_doubtful_leader_leads_until_they_are_out() -> None:
    ben = Marcher(BEN, 0, 0, doubtful=True)
    assert words(ben, Marcher(ANA, 0, 5), OLD) == "if Ben is out, Ana leads"
    assert words(ben, OLD) == "if Ben is out, Dee leads"


def test_who_may_be_out_as_well_is_followed_by_the_next() -> None:
    ana = Marcher(ANA, 0, 5, doubtful=True)
    assert words(ana, OLD) == "Ana leads (for Ben, out); if Ana is out, Dee leads"
    ben = Marcher(BEN, 0, 0, doubtful=True)
    assert words(ben, ana, OLD) == "if Ben is out, Ana leads; if Ana is out, Dee leads"


@pytest.mark.parametrize("leaders", [(), (BEN, ANA)])
def test_nobody_to_lead_or_to_be_led(leaders: tuple[int, ...]) -> None:
    assert lead(*(() if leaders else (OLD,)), leaders=leaders) is None


def test_a_rank_with_one_leader_only() -> None:
    assert lead(OLD, leaders=(ANA,)) == Leading(ANA, (DEE,))
    assert lead(Marcher(BEN, 1, 1, doubtful=True), leaders=(BEN,)) is None
