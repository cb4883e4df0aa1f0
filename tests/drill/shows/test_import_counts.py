"""Counts and totals in sheets of coordinates."""

from __future__ import annotations

import pytest

from tests.drill.shows.coordinate_sheets import BLOCKS, LONG_BELOW_LINES, Sheets, sets, sheets

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def test_counts_come_from_running_totals(sheets: Sheets) -> None:
    head = "show,set,running total,dot,x,y\n"
    rows = [f"Tidewheel,{n},{total},1-1,{n},28\n" for n, total in ((1, 0), (2, 16), ("2A", 24))]
    rows[2] = "Tidewheel,2A,24,1-1,3,28\n"
    sheets.accept(head + "".join(rows))
    assert sets() == [("1", 0), ("2", 16), ("2A", 8)]
    falling = head + rows[0] + rows[2] + rows[1]
    assert sheets.faults(falling) == [(4, "running total")]


def test_totals_that_do_not_add_up_are_told_and_counts_kept(sheets: Sheets) -> None:
    text = "show,set,counts,total,dot,x,y\n"
    for n, counts, total in ((1, 0, 0), (2, 16, 16), (3, 8, 28), (4, 8, 36)):
        text += f"Tidewheel,{n},{counts},{total},1-1,{n},28\n"
    plan = sheets.plan(text)
    assert [(w.row, w.column) for w in plan.warnings] == [(4, "total")]
    assert "Set 3 is at 28 counts, but 16 and 8 make 24" in plan.warnings[0].message
    sheets.accept(text)
    assert sets() == [("1", 0), ("2", 16), ("3", 8), ("4", 8)]


@pytest.mark.parametrize(
    ("text", "row", "column"),
    [
        (BLOCKS.replace("Total,16", "Total,20"), 6, "counts"),
        (LONG_BELOW_LINES.replace("Total,32", "Total,33"), 9, "counts"),
    ],
)
def test_a_closing_total_that_does_not_add_up_is_told(
    sheets: Sheets, text: str, row: int, column: str
) -> None:
    plan = sheets.plan(text)
    assert [(w.row, w.column) for w in plan.warnings] == [(row, column)]
    assert "but the counts add up to 16" in plan.warnings[0].message
    assert sheets.plan(LONG_BELOW_LINES.replace("Total,32", "Total,16")).warnings == []


def test_blocks_that_count_differently_are_told(sheets: Sheets) -> None:
    text = BLOCKS.replace("2,16,-6.5,30", "2,12,-6.5,30")
    plan = sheets.plan(text)
    assert [(f.row, f.column) for f in plan.faults] == [(10, "counts")]
    assert plan.faults[0].message == "Set 2 has 16 counts in row 5."
