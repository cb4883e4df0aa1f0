"""The band's own fundamentals, and who has passed them."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Refused
from drill.fundamentals.core import definition_of
from drill.fundamentals.models import EvaluationSequence, Fundamental, PassedFundamental
from drill.fundamentals.services.examples import add_offered, examples
from drill.fundamentals.services.fundamentals import built_in, fundamentals_of, save_fundamental
from drill.fundamentals.services.sequences import make_sequence
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from tests.answers import text
from tests.drill.fundamentals.fundamentals_help import HOP, staff
from tests.factories import Band, Cast

__all__ = ["staff"]

pytestmark = pytest.mark.django_db


# Own fundamentals


def form_of(staff: Client, code: str, **changed: object) -> dict[str, object]:
    """What the form of a fundamental would send."""
    response = staff.get(reverse("fundamental-edit", args=[code]))
    initial = response.context["form"].initial
    sent = {k: v for k, v in initial.items() if v is not None and v is not False}
    return {**sent, **changed}


def test_the_bands_own_way_of_a_flank_takes_a_count(staff: Client, band: Band) -> None:
    url = reverse("fundamental-edit", args=["right-flank"])
    sent = form_of(staff, "right-flank", counts=1, path="0, 0", pivot="left")
    assert staff.post(url, sent).status_code == 302
    it = fundamentals_of(band.season)["right-flank"]
    assert (it.counts, it.pivot) == (1, "left")
    assert "our way" in text(staff.get(reverse("fundamentals")))
    staff.post(reverse("fundamental-remove", args=["right-flank"]))
    assert fundamentals_of(band.season) == built_in()


@pytest.fixture
def corners(band: Band, cast: Cast) -> str:
    """A movement with much to get wrong."""
    code = "four-corners-about"
    add_offered(actor=cast.staff, season=band.season, code=code)
    return code


@pytest.mark.parametrize("code", ["left-flank", "halt", *examples()])
def test_saving_a_form_as_it_stands_changes_nothing(
    staff: Client, band: Band, cast: Cast, code: str
) -> None:
    if code in examples():
        add_offered(actor=cast.staff, season=band.season, code=code)
    sent = form_of(staff, code)
    assert staff.post(reverse("fundamental-edit", args=[code]), sent).status_code == 302
    assert fundamentals_of(band.season)[code] == (built_in() | examples())[code]


@pytest.mark.parametrize(
    ("changed", "says"),
    [
        ({"path": "0 1"}, "“0 1” is not a step"),
        ({"path": "0, x"}, "“x” is not a number"),
        ({"path": "0, 1\n0, 1"}, "2 steps do not fit 4 counts"),
        ({"turn_after": "45, 90"}, "one angle a count"),
        ({"also": "lf"}, "“lf” already means left flank"),
        ({"counts": "-1"}, "greater than or equal to 0"),
    ],
)
def test_a_wrong_definition_says_what_is_wrong(
    staff: Client, band: Band, corners: str, changed: dict[str, str], says: str
) -> None:
    sent = form_of(staff, corners, **changed)
    page = text(staff.post(reverse("fundamental-edit", args=[corners]), sent))
    assert says in page
    assert fundamentals_of(band.season)[corners] == examples()[corners]


def test_a_new_one_is_understood_in_words_and_removed(
    staff: Client, band: Band, cast: Cast
) -> None:
    made = save_fundamental(actor=cast.staff, season=band.season, definition=HOP)
    assert made.code == "hop"
    with pytest.raises(Refused, match="already"):
        save_fundamental(actor=cast.staff, season=band.season, definition=HOP)
    make_sequence(
        actor=cast.staff,
        season=band.season,
        label="Hops",
        codes=["hop", "to-the-rear"],
        counts=16,
        square=16,
        groups=1,
        seed=1,
    )
    staff.post(reverse("fundamental-remove", args=["hop"]))
    assert Fundamental.objects.filter(code="hop").exists(), "a sequence uses it"
    EvaluationSequence.objects.all().delete()
    staff.post(reverse("fundamental-remove", args=["hop"]))
    assert not Fundamental.objects.exists()


def test_built_in_definitions_survive_their_own_writing() -> None:
    assert all(definition_of(it)["code"] == code for code, it in built_in().items())


# Who has passed


def test_passing_is_noted_in_bulk_and_taken_back(staff: Client, band: Band, cast: Cast) -> None:
    url = reverse("fundamental-passed", args=["left-flank"])
    members = [band.members["Cai Ørnberg"].pk, band.members["Jon Pell"].pk]
    staff.post(url, {"member": members, "what": "passed"})
    staff.post(url, {"member": members[:1], "what": "passed"})
    rows = PassedFundamental.objects.filter(code="left-flank")
    assert sorted(rows.values_list("member_id", flat=True)) == sorted(members)
    assert {r.noted_by for r in rows} == {cast.staff}
    page = text(staff.get(url, {"rank": band.ranks["1"].pk}))
    assert "members of Rank 1" in page and "passed</span>" in page
    staff.post(url, {"member": members[:1], "what": "not"})
    assert rows.get().member_id == members[1]


def test_a_whole_rank_passes_at_once(staff: Client, band: Band) -> None:
    url = reverse("fundamental-passed", args=["left-flank"])
    response = staff.post(url, {"rank": band.ranks["1"].pk, "all": "on", "what": "passed"})
    assert response["Location"].endswith(f"?rank={band.ranks['1'].pk}")
    here = rank_queries.members_of_ranks(band.season, [band.ranks["1"].pk])
    passed = PassedFundamental.objects.values_list("member_id", flat=True)
    assert set(passed) == {m.pk for m in here}


def test_nobody_chosen_and_a_member_of_another_season_change_nothing(
    staff: Client, band: Band
) -> None:
    url = reverse("fundamental-passed", args=["left-flank"])
    staff.post(url, {"what": "passed"})
    stranger = Member.objects.exclude(season=band.season).first()
    staff.post(url, {"what": "passed", "member": [stranger.pk if stranger else 10**8]})
    assert not PassedFundamental.objects.exists()
