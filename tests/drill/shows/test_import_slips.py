"""A file of coordinates with many slips: all of them are told at once, each where it stands, and
none a second time because of another."""

from __future__ import annotations

from typing import Any

import pytest

from drill.shows.models import Dot, Show
from tests.drill.shows.coordinate_sheets import Sheets, sheets
from tests.drill.shows.slips import BLOCKS, HEAD, WIDE, row
from tests.lib.imports_help import upload, words

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
LONG = """show,set,counts,total,dot,x,y
Tidewheel,1,0,0,1-1,-16,28
Tidewheel,1,0,0,1-2,-12,28
Tidewheel,1,0,0,1-3,-8,28
Tidewheel,2,16,16,1-1,-8,28
Tidewheel,2,16,16,1-2,sidewise 40,28
Tidewheel,2,16,16,1-3,-4,28
Tidewheel,2,16,16,1-3,-3,28
Tidewheel,3,8,30,1-1,-8,90
Tidewheel,3,8,30,1-2,-8,32
Tidewheel,3,8,30,1-3,-8,36
Tidewheel,4,8,38,1-1,-8,28
Tidewheel,4,8,38,1-2,0,28
"""
TOLD = {
    "LONG": (
        [(6, "x"), (8, "dot")],
        [(9, "y"), (9, "total"), (12, "set")],
    ),
    "BLOCKS": (
        [(11, "side to side"), (12, "set")],
        [(5, "set"), (6, "front to back"), (7, "counts")],
    ),
    "WIDE": (
        [(5, "set 2 x"), (6, "set 2 x")],
        [(4, "set 3 x"), (5, "set 3 y"), (5, "set 3 x")],
    ),
}
FILES = {"LONG": LONG, "BLOCKS": BLOCKS, "WIDE": WIDE}


@pytest.mark.parametrize("name", FILES)
def test_all_slips_of_a_file_are_told_at_once(sheets: Sheets, name: str) -> None:
    """An unknown word, a set twice, a wrong total, a point off the field and a missing dot."""
    plan = sheets.plan(FILES[name])
    faults, warnings = TOLD[name]
    assert [(f.row, f.column) for f in plan.faults] == faults
    assert [(w.row, w.column) for w in plan.warnings] == warnings
    messages = " ".join(f.message for f in [*plan.faults, *plan.warnings])
    for text in (
        "“sidewise 40” is not understood across the field; write “side 1, 3.5 outside the 40”",
        "in set 2 is also in row",
        "90 steps is off the field.",
        "lacks 1 of 3 dots (1-3).",
    ):
        assert messages.count(text) == 1, text
    assert "30" in messages and "24" in messages, "the total that was read, and the right one"
    assert not plan.acceptable


@pytest.mark.parametrize("name", FILES)
def test_the_page_shows_all_of_them(sheets: Sheets, signed_in: Any, name: str) -> None:
    page = words(upload(signed_in(sheets.cast.staff), "coordinates", FILES[name].encode()))
    for text in ("sidewise 40", "is also in row", "off the field", "lacks 1 of 3"):
        assert text in page, text
    assert "2 errors: nothing can be saved yet" in page
    assert "Save all of it" not in page


@pytest.mark.parametrize("name", FILES)
def test_a_cell_that_cannot_be_read_is_told_once(sheets: Sheets, name: str) -> None:
    """Without the other slips nothing is left but the unknown word: its dot is not missing."""
    text = {
        "LONG": "\n".join(LONG.splitlines()[:7]),
        "BLOCKS": BLOCKS.split("2,16,-6")[0].replace("3,8,-8,90\nTotal,30\n", ""),
        "WIDE": WIDE.replace(",set 2 x,set 2 y,set 3 x,set 3 y", "", 1)
        .replace("16,,16,,8,", "16,")
        .replace("16,,16,,30,", "16,")
        .replace(",-7,28,-8,90", "")
        .replace(",,,-8,32", "")
        .replace("-4,28,,,,", "-4,28"),
    }[name]
    plan = sheets.plan(text)
    assert ["sidewise 40" in f.message for f in plan.faults] == [True], plan.faults
    assert not plan.warnings


def test_a_dot_or_set_that_cannot_be_read_is_not_missing_too(sheets: Sheets) -> None:
    first = row("1", "1-1") + row("1", "1-2")
    assert sheets.warnings(HEAD + first + row("2", "1-1") + row("2", "11-May")) == []
    assert sheets.warnings(HEAD + first + row("2", "1-1") + row("", "1-2")) == []
    plan = sheets.plan(HEAD + first + row("1", "1-3") + row("2", "1-1") + row("2", ""))
    assert [(f.row, f.column) for f in plan.faults] == [(6, "dot")]
    assert [w.message for w in plan.warnings] == [
        "Set 2 lacks 2 of 3 dots (1-2, 1-3). One may be in a row that could not be read."
    ]


def test_a_label_that_cannot_be_read_is_no_dot_of_the_show_missing(sheets: Sheets) -> None:
    show = Show.objects.get(name="Tidewheel")
    Dot.objects.create(show=show, label="5-11")
    assert sheets.warnings(HEAD + row("1", "1-1") + row("1", "11-May")) == []
    Dot.objects.create(show=show, label="5-12")
    assert sheets.warnings(HEAD + row("1", "1-1") + row("1", "11-May")) == [(2, "dot")]


def test_counts_that_cannot_be_read_make_no_total_wrong(sheets: Sheets) -> None:
    text = HEAD + row("1", "1-1", total=0) + row("2", "1-1", counts="many", total=16)
    text += row("3", "1-1", counts=8, total=24)
    assert sheets.faults(text) == [(3, "counts")]
    assert sheets.warnings(text) == []
    without = text.replace("many,16", "many,")
    assert sheets.faults(without) == [(3, "counts")]
    assert sheets.warnings(without) == []
    later = without + row("4", "1-1", counts=8, total=40)
    assert sheets.warnings(later) == [(5, "total")], "from the next total on they are checked"
    assert sheets.warnings(text + ",,,99,,,\n") == []


def test_a_set_that_comes_twice_makes_no_later_total_wrong(sheets: Sheets) -> None:
    rows = [("1", 0, 0), ("2", 16, 16), ("2", 8, 24), ("4", 8, 32), ("5", 8, 41)]
    text = HEAD + "".join(row(n, "1-1", counts=c, total=t, x=t) for n, c, t in rows)
    plan = sheets.plan(text)
    assert {(f.row, f.column) for f in plan.faults} == {(4, "counts"), (4, "total"), (4, "dot")}
    assert [(w.row, w.column) for w in plan.warnings] == [(6, "total")]


def test_one_wrong_total_is_told_once(sheets: Sheets) -> None:
    rows = [("1", 0, 0), ("2", 16, 16), ("3", 8, 30), ("4", 8, 32)]
    text = HEAD + "".join(row(n, "1-1", counts=c, total=t) for n, c, t in rows)
    assert sheets.warnings(text) == [(4, "total")]


def test_a_row_without_its_show_stands_with_the_rows_above_it(sheets: Sheets) -> None:
    text = HEAD + row("1", "1-1") + row("1", "1-2") + row("2", "1-1")
    text += row("2", "1-2").replace("Tidewheel", "")
    plan = sheets.plan(text)
    assert [(f.row, f.column) for f in plan.faults] == [(5, "show")]
    assert plan.warnings == []


def test_both_cells_of_a_row_are_looked_at(sheets: Sheets) -> None:
    text = "show,set,dot,x,y\nTidewheel,1,1-1,sidewise,90\nTidewheel,1,1-2,99,\n"
    plan = sheets.plan(text)
    assert [(f.row, f.column) for f in plan.faults] == [(2, "x"), (3, "y")]
    assert plan.faults[1].message.startswith("This is missing: write steps from the front side")
    assert [(w.row, w.column) for w in plan.warnings] == [(2, "y"), (3, "x")]
    one = sheets.plan("show,set,dot,coordinate\nTidewheel,1,1-1,\n")
    assert [(f.row, f.column) for f in one.faults] == [(2, "coordinate")]
