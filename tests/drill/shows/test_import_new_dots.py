"""Labels of coordinates: other ways to write a spot, and those that nobody knows."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Refused
from drill.shows.models import Dot, Show
from roster.ranks.models import Holding, Spot
from tests.drill.shows.coordinate_sheets import Sheets, sheets

__all__ = ["sheets"]

pytestmark = pytest.mark.django_db

HEAD = "show,set,dot,x,y\n"


def rows(*dots: str, show: str = "Tidewheel") -> str:
    return HEAD + "".join(f"{show},1,{dot},{n},28\n" for n, dot in enumerate(dots))


def cautions(sheets: Sheets, content: str) -> list[str]:
    return [f.message for f in sheets.plan(content).cautions]


def labels() -> set[str]:
    return set(Dot.objects.values_list("label", flat=True))


def test_a_label_that_nobody_knows_is_said_with_near_ones(sheets: Sheets) -> None:
    (message,) = cautions(sheets, rows("1-1", "1-22"))
    assert message.startswith("“1-22” is not a spot in the band or a dot in Tidewheel:")
    assert "Did you mean 1-2 or" in message


def test_a_new_dot_is_made_only_when_it_was_accepted(sheets: Sheets) -> None:
    with pytest.raises(Refused, match="check the box first"):
        sheets.accept(rows("1-1", "Z9"))
    assert not labels()
    sheets.accept(rows("1-1", "Z9"), sure=True)
    assert labels() == {"1-1", "Z9"}


def test_a_dot_that_the_show_has_is_known(sheets: Sheets) -> None:
    Dot.objects.create(show=Show.objects.get(name="Tidewheel"), label="Z9")
    assert not cautions(sheets, rows("1-1", "Z9"))


def test_another_show_s_dot_is_not(sheets: Sheets) -> None:
    Dot.objects.create(show=Show.objects.get(name="Tidewheel"), label="Z9")
    assert len(cautions(sheets, rows("1-1", "Z9", show="Brine"))) == 1


def test_many_new_dots_are_counted(sheets: Sheets) -> None:
    said = cautions(sheets, rows(*(f"Z{n}" for n in range(1, 31))))
    assert len(said) == 13
    assert said[-1].startswith("18 more labels, from Z13 on,")


@pytest.mark.parametrize("written", ["a1", "A-1", "A 1"])
def test_a_dot_is_the_spot_whose_label_is_written_otherwise(sheets: Sheets, written: str) -> None:
    Spot.objects.filter(pk=sheets.band.spots["1-1"].pk).update(own_label="A1")
    sheets.accept(rows(written, "1-2"))
    assert labels() == {"A1", "1-2"}


def test_a_dot_of_the_show_goes_before_the_spot_of_the_label(sheets: Sheets) -> None:
    Spot.objects.filter(pk=sheets.band.spots["1-1"].pk).update(own_label="A1")
    Dot.objects.create(show=Show.objects.get(name="Tidewheel"), label="A-1")
    sheets.accept(rows("a1"))
    assert labels() == {"A-1"}


def test_a_band_without_spots_and_dots_is_told_nothing(sheets: Sheets) -> None:
    Holding.objects.all().delete()
    Spot.objects.all().delete()
    assert not cautions(sheets, rows("1-1", "Z9"))
