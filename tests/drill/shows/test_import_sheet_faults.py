"""What is wrong in a sheet of coordinates is named where it stands."""

from __future__ import annotations

import pytest

from drill.shows.models import Dot, Show
from tests.drill.shows.coordinate_sheets import (
    BLOCKS,
    LONG,
    SAMPLES,
    WIDE,
    WIDE_LABELS_FIRST,
    Sheets,
    sheets,
    stored,
)
from tests.lib.imports_help import xlsx_file

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def test_a_dot_missing_from_a_set_is_told_by_name(sheets: Sheets) -> None:
    Dot.objects.create(show=Show.objects.get(name="Tidewheel"), label="1-9")
    plan = sheets.plan(WIDE.replace("-6.5,30", ","))
    assert [(w.row, w.column) for w in plan.warnings] == [(4, "set 2 x"), (4, "dot")]
    messages = " ".join(w.message for w in plan.warnings)
    assert "Set 2 lacks 1 of 2 dots (1-2)." in messages
    assert "This file lacks 1 of the show's dots (1-9)." in messages


def test_half_a_coordinate_is_an_error_of_its_cell(sheets: Sheets) -> None:
    assert sheets.faults(WIDE.replace("-6.5,30", "-6.5,")) == [(5, "set 2 y")]


def test_a_set_that_comes_twice_is_told_once(sheets: Sheets) -> None:
    twice = WIDE.replace("set 2 x,set 2 y", "set 1 x,set 1 y")
    assert sheets.faults(twice)[0] == (3, "set 1 x"), "other counts"
    many = "Tidewheel\nplace,set 1 x,set 1 y,set 1 x,set 1 y\n"
    many += "".join(f"1-{n},{n},28,{n + 1},28\n" for n in range(1, 8))
    plan = sheets.plan(many)
    assert [(f.row, f.column) for f in plan.faults] == [(3, "set 1 x")]
    assert "it has 7 dots two times" in plan.faults[0].message


def test_every_slip_of_a_block_is_named_by_row_and_column(sheets: Sheets) -> None:
    plan = sheets.plan((SAMPLES / "messy" / "coordinates_blocks.csv").read_bytes())
    assert [(f.row, f.column) for f in plan.faults] == [
        (7, "dot"),
        (9, "side to side"),
        (11, "front to back"),
        (13, "counts"),
        (13, "set"),
    ]
    assert "looks like a date" in plan.faults[0].message
    assert "side 3" in plan.faults[1].message


def test_every_slip_of_a_wide_table_is_named_by_row_and_column(sheets: Sheets) -> None:
    content = (SAMPLES / "messy" / "coordinates_wide.tsv").read_bytes()
    plan = sheets.plan(content)
    assert not plan.faults
    assert [(w.row, w.column) for w in plan.warnings] == [
        (4, "set 2 x"),
        (5, "set 2 x"),
        (6, "set 2 x"),
    ]
    sheets.accept(content)
    assert stored()["1", "1-3"] == (-8.5, 28)


def test_a_label_made_a_date_is_refused_in_every_layout(sheets: Sheets) -> None:
    import datetime

    assert sheets.faults(BLOCKS.replace("Dot 1-2", "Dot 2-Jan")) == [(7, "dot")]
    assert sheets.faults(WIDE.replace("1-2,trumpet", "2026-01-02,trumpet")) == [(5, "dot")]
    day = datetime.date(2026, 5, 2)
    book = xlsx_file(["show", "set", "dot", "x", "y"], ["Tidewheel", day, "1-1", 0, 28])
    assert sheets.faults(book) == [(2, "set")]


def test_without_a_show_or_coordinates_the_file_is_refused(sheets: Sheets) -> None:
    plan = sheets.plan(WIDE.replace("Tidewheel\n", ""))
    assert [(f.row, f.column) for f in plan.faults] == [(0, "show")]
    assert "put a line “Show: its name” above the table" in plan.faults[0].message
    assert sheets.faults(WIDE_LABELS_FIRST.replace("Tidewheel,1-2", ",1-2")) == [(4, "show")]
    assert sheets.faults("show,set,dot\nTidewheel,1,1-1\n") == [(0, "across")]
    assert sheets.faults("show,set,dot,x\nTidewheel,1,1-1,4\n") == [(0, "across")]


def test_a_dot_far_off_the_field_is_a_slip(sheets: Sheets) -> None:
    assert sheets.faults(LONG.replace("-6.5,30", "-6.5,30000")) == [(5, "y")]
    assert sheets.warnings(LONG.replace("-6.5,30", "-6.5,86")) == [(5, "y")]
    end = LONG.replace("-6.5,30", "-6.5,12 behind the back sideline")
    assert sheets.warnings(end) == [(5, "y")]
