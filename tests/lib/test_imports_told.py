"""What a page lists of faults: one line for what is wrong alike in many rows."""

from __future__ import annotations

from bandops.lib.imports.plan import Fault
from bandops.lib.imports.told import MOST_LINES, Told, ranges, told


def test_the_same_fault_of_many_rows_is_one_line() -> None:
    rows = [2, 3, 4, 7, 9, 10]
    faults = [Fault(row, "x", "wrong") for row in rows]
    faults.insert(1, Fault(2, "y", "wrong"))
    faults.insert(0, Fault(0, "set", "no column"))
    assert told(faults) == (
        [
            Told("", "set", "no column"),
            Told("2–4, 7, 9–10", "x", "wrong"),
            Told("2", "y", "wrong"),
        ],
        0,
    )


def test_many_ranges_are_cut_and_counted() -> None:
    assert ranges(range(2, 40, 2)) == "2, 4, 6, 8, 10, 12 and 13 more"
    assert ranges([5, 5]) == "5"


def test_more_lines_than_a_page_holds_are_counted() -> None:
    lines, more = told(Fault(row, "x", f"wrong {row}") for row in range(MOST_LINES + 5))
    assert (len(lines), more) == (MOST_LINES, 5)
