"""Alternates as bands write them: Alt 1 in the column of spots or standings, or above a grid."""

from __future__ import annotations

import pytest
from django.test import Client

from bandops.lib.imports.words import UnknownWord
from roster.people.models import Season
from roster.ranks.imports.standings import alternate_named, read_standing
from roster.ranks.models import AlternatePlace, Spot
from roster.ranks.services.spots import open_holding
from tests.factories import Band, Cast
from tests.lib.import_pages import staff
from tests.lib.imports_help import accept_file, all_same, csv_file, plan_of
from tests.lib.review_desk import Reviewer

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def order(season: Season, rank: str) -> list[tuple[str, int | None]]:
    places = AlternatePlace.objects.filter(rank__season=season, rank__label=rank)
    return [(p.member.name, p.standing) for p in places.order_by("part__name", "standing")]


@pytest.mark.parametrize(
    ("text", "standing"),
    [("Alt 1", 1), ("Alternate 2", 2), ("alt. #3", 3), ("ALT4", 4), ("2nd alternate", 2),
     ("Alt", 0), ("Alternates", 0), ("Altman", None), ("A3", None), ("7", None)],
)  # fmt: skip
def test_an_alternate_is_known_by_the_word(text: str, standing: int | None) -> None:
    assert alternate_named(text) == standing


def test_a_standing_may_be_short_and_another_word_is_asked_about() -> None:
    assert [read_standing(t, {}) for t in ("", "3", "A3", "a-2", "Alt", "2nd", "first")] == [
        0, 3, 3, 2, 0, 2, 1,
    ]  # fmt: skip
    assert read_standing("best", {"best": "1"}) == 1
    with pytest.raises(UnknownWord):
        read_standing("best", {})
    for text in ("0", "A0", "100", "1.5"):
        with pytest.raises(ValueError, match=r"between|whole") as error:
            read_standing(text, {})
        assert not isinstance(error.value, UnknownWord)


def test_a_word_for_a_standing_is_a_choice(band: Band, staff: Client) -> None:
    rows = [["Name", "Rank", "Standing"], ["Jon Pell", "1", "Alt 1"], ["Ida Voss", "1", "reserve"]]
    desk = Reviewer(staff, "alternates", csv_file(*rows))
    assert set(desk.asked) == {"reserve"}
    desk.answer(reserve="means:0")
    desk.save()
    assert order(band.season, "1") == [("Jon Pell", 1), ("Ida Voss", 2)]


ROSTER = [
    ["Rank", "Spot", "Name"],
    ["3", "1", "Ida Voss"],
    ["3", "Alt 1", "New Alt"],
    ["3", "A2", "Jon Pell"],
    ["1", "Alternate 1", "Cai Two"],
]


@pytest.fixture
def more(band: Band) -> Band:
    band.member("New Alt", "trumpet")
    band.member("Cai Two", "trumpet")
    return band


def test_a_file_of_spots_may_hold_alternates(more: Band, cast: Cast) -> None:
    content = csv_file(*ROSTER)
    accept_file("ranks", content, more.season, cast.staff)
    assert order(more.season, "3") == [("New Alt", 1), ("Jon Pell", 2)]
    assert order(more.season, "1") == [("Cai Two", 1)], "Ida has a spot now, Jon another rank"
    spots = Spot.objects.filter(rank__label="3")
    held = [open_holding(spot=spot) for spot in spots]
    assert [(h.spot.label, h.member.name) for h in held if h] == [("3-1", "Ida Voss")]
    assert all_same(plan_of("ranks", content, more.season, cast.staff))


def test_a_label_of_rank_a_is_no_alternate(more: Band, cast: Cast) -> None:
    rows = [["Rank", "Spot", "Name"], ["A", "A1", "Ida Voss"], ["A", "A2", "New Alt"]]
    accept_file("ranks", csv_file(*rows), more.season, cast.staff)
    assert Spot.objects.filter(rank__label="A").count() == 2


def test_a_member_has_one_place_of_a_file(more: Band, cast: Cast) -> None:
    rows = [*ROSTER, ["1", "Alt 2", "Ida Voss"]]
    (fault,) = plan_of("ranks", csv_file(*rows), more.season, cast.staff).faults
    assert (fault.row, fault.column) == (6, "Name") and "also has a spot" in fault.message


@pytest.mark.parametrize("across", [True, False])
def test_a_grid_may_have_alternates(more: Band, cast: Cast, across: bool) -> None:
    rows = [["Rank", "1", "2", "Alt 1", "Alt 2"], ["3", "Ida Voss", "Jon Pell", "New Alt", ""]]
    if not across:
        rows = [list(column) for column in zip(*rows, strict=True)]
        rows[0] = ["Spot", "3"]
        rows = [row if len(row) > 2 else [*row, other] for row, other in zip(
            rows, ("4", "Cai Two", "", "", ""), strict=True)]  # fmt: skip
    accept_file("ranks", csv_file(*rows), more.season, cast.staff)
    assert order(more.season, "3") == [("New Alt", 1)]
    assert Spot.objects.filter(rank__label="3").count() == 2
