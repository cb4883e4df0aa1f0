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
            Told("2–4, 7, 9–10", "x", "wrong", count=6),
            Told("2", "y", "wrong"),
        ],
        0,
    )


def test_many_ranges_are_cut_and_counted() -> None:
    assert ranges(range(2, 40, 2)) == "2, 4, 6, 8, 10, 12 and 13 more"
    assert ranges([5, 5]) == "5"


def test_more_lines_than_a_page_holds_are_counted() -> None:
    lines, more = told(Fault(row, f"column {row}", "wrong") for row in range(MOST_LINES + 5))
    assert (len(lines), more) == (MOST_LINES, 5)


def test_faults_that_differ_only_in_their_values_are_one_line_with_a_count() -> None:
    messages = [f"“{text}” is not an email address." for text in ("a@", "b@", "c")]
    faults = [Fault(row, "email", text) for row, text in enumerate(messages, 2)]
    names = ["Bo Larkspur does not play Trumpet.", "Ida Voss does not play Trumpet."]
    faults += [Fault(row, "holder", text) for row, text in enumerate(names, 7)]
    lines, _ = told(faults)
    assert [(line.rows, line.count, len(line.single)) for line in lines] == [
        ("2–4", 3, 3),
        ("7", 1, 0),
        ("8", 1, 0),
    ]
    assert lines[0].single[1] == Told("3", "email", messages[1])
