"""Columns of coordinates whose name is not known, and numbers with commas."""

from __future__ import annotations

import pytest

from tests.drill.shows.coordinate_sheets import Sheets, sheets
from tests.drill.shows.slips import BLOCKS, WIDE

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


# Columns whose name is not known


def test_unknown_columns_do_not_hide_what_is_wrong_below_them(sheets: Sheets) -> None:
    plan = sheets.plan("show,pic,counts,plaice,x,y\nTidewheel,1,many,1-1,sidewise,90\n")
    assert [(f.row, f.column) for f in plan.faults] == [
        (0, "set"),
        (0, "dot"),
        (2, "counts"),
        (2, "x"),
    ]
    assert "Not read so far: “pic”, “plaice”." in plan.faults[0].message
    assert "(or place, spot, label)" in plan.faults[1].message
    assert [(w.row, w.column) for w in plan.warnings] == [(2, "y")]


@pytest.mark.parametrize(
    ("text", "slip", "cell"),
    [
        (BLOCKS.replace("set,counts", "sett,counts", 1), (3, "sett"), "sidewise 40"),
        (BLOCKS.replace("side to side", "side too side", 1), (3, "side too side"), "sidewise 40"),
        (WIDE.replace("dot,", "plaec,", 1), (2, "plaec"), "sidewise 40"),
    ],
)
def test_a_misspelled_header_of_a_layout_is_a_slip_beside_the_others(
    sheets: Sheets, text: str, slip: tuple[int, str], cell: str
) -> None:
    plan = sheets.plan(text)
    found = {(f.row, f.column): f.message for f in plan.faults}
    assert "No column is called" in found[slip]
    assert any(cell in message for message in found.values())
    assert any("off the field" in w.message for w in plan.warnings)
    assert any("lacks 1 of 3" in w.message for w in plan.warnings)


def test_a_header_that_is_only_like_one_of_a_usual_table_is_left_to_the_person(
    sheets: Sheets,
) -> None:
    plan = sheets.plan("Tidewheel\nsett,dot,x,y\n1,1-1,0,28\n")
    assert (0, "set") in [(f.row, f.column) for f in plan.faults]


# Numbers with commas


@pytest.mark.parametrize(
    "text",
    [
        "show,set,dot,x,y\nTidewheel,1,1-1,-16,25,28,5\n",
        "Show: Tidewheel\nset,dot,x,y\n1,1-1,-16,25,28,5\n",
        "Tidewheel\nPlace 1-1\nset,x,y\n1,-16,25,28,5\n",
        "Tidewheel\nplace,set 1 x,set 1 y\n1-1,-16,25,28,5\n",
    ],
)
def test_a_comma_that_splits_a_number_is_no_shift_of_columns(sheets: Sheets, text: str) -> None:
    plan = sheets.plan(text)
    assert [f.row for f in plan.faults] == [len(text.splitlines())]
    assert "write 16.5, or separate the columns by semicolons" in plan.faults[0].message


def test_numbers_are_read_with_decimal_commas_and_any_minus(sheets: Sheets) -> None:
    sheets.accept("show;set;dot;x;y\nTidewheel;12A;1-1;−16,25;28,5\n")
    from tests.drill.shows.coordinate_sheets import stored

    assert stored() == {("12A", "1-1"): (-16.25, 28.5)}


def test_a_second_column_of_one_name_is_told_and_not_read(sheets: Sheets) -> None:
    text = "Tidewheel\nPlace 1-1\nset,x,y,x\n1,-16,28,99\n"
    kind_notes = sheets.plan(text)
    assert not kind_notes.faults and not kind_notes.warnings
    assert kind_notes.lines[0].label == "Tidewheel, version 1: 1 sets, 1 positions"
