"""Rows and headers of tables: what is left out, what is named."""

from __future__ import annotations

import pytest

from bandops.lib.imports.columns import match_headers, odd_cells
from bandops.lib.imports.plan import Column, Mapped
from bandops.lib.imports.reading import read_table
from bandops.lib.imports.tables import Oddity
from tests.lib.imports_help import csv_file
from tests.lib.tables_help import MESSY


def test_rows_keep_the_numbers_of_the_file() -> None:
    table = read_table("f.csv", b'\r\na,b\r\n\r\n1,2\r\n,\r\n"3\r\n",4\r\n5,6\r\n')
    assert [row.number for row in table.rows] == [4, 6, 7]


@pytest.mark.parametrize(
    "last",
    [
        ["Total", "12", ""],
        ["", "Total", "7"],
        ["Totals:", "1,200", "3.5"],
        ["Grand total", "=SUM(B2:B9)", "13"],
        ["Total members", "", "14"],
        ["Count: 12", "", ""],
        ["Total", "7", "13"],
    ],
)
def test_a_closing_line_of_totals_is_left_out_and_said(last: list[str]) -> None:
    table = read_table("f.csv", csv_file(["a", "b", "c"], ["x", "1", "y"], last))
    assert [row.number for row in table.rows] == [2]
    assert "Row 3 looks like a line of totals and is left out." in table.notes


@pytest.mark.parametrize(
    "last",
    [["Sum Yee", "1", "2"], ["1-1", "trumpet", "Count Vasile"], ["Totally", "trumpet", "x"]],
)
def test_a_last_row_that_names_somebody_is_no_total(last: list[str]) -> None:
    table = read_table("f.csv", csv_file(["a", "b", "c"], ["x", "1", "y"], last))
    assert [row.number for row in table.rows] == [2, 3]


def test_double_headers_and_wide_rows_are_named() -> None:
    table = read_table("f.csv", csv_file(["a", "", "a", "b"], ["1", "2", "3", "4", "5"]))
    assert "Two columns are called “a”; the first is used." in table.notes
    assert "Row 2: more cells than headers; the extra ones are left out." in table.notes


COLUMNS = (
    Column("spot", "spot", "", True, ("number",)),
    Column("holder", "holder", "", False, ("name", "student number")),
)


def test_a_column_s_own_name_goes_before_its_other_names() -> None:
    assert match_headers(["Name", "Number", "HOLDER ", "spot"], COLUMNS) == {"holder": 2, "spot": 3}
    assert match_headers(["Student-Number", "number"], COLUMNS) == {"holder": 0, "spot": 1}


def test_formulas_and_a_spreadsheet_s_errors_are_named_by_row_and_column() -> None:
    content = csv_file(["spot", "holder", "note"], ["1-1", "#N/A", '=HYPERLINK("x")'])
    table = read_table("f.csv", content)
    faults, warnings = odd_cells(Mapped(table, COLUMNS, match_headers(table.headers, COLUMNS)))
    assert [(f.row, f.column) for f in faults] == [(2, "holder")]
    assert [(w.row, w.column) for w in warnings] == [(2, "note")]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("title", ["Quillwater roster", "Roster, fall 2099"])
def test_a_title_above_the_headers_is_no_header(delimiter: str, title: str) -> None:
    quoted = f'"{title}"' if delimiter == "," else title
    rows = csv_file(["name", "part", "rank"], ["Ana", "trumpet", "1"], delimiter=delimiter)
    table = read_table("f.csv", f"{quoted}\r\n\r\n".encode() + rows)
    assert table.headers == ("name", "part", "rank")
    assert [row.number for row in table.rows] == [4]
    assert any("was read as a title" in note for note in table.notes)


def test_the_messy_file_of_semicolons_is_named_in_full() -> None:
    table = read_table("f.csv", (MESSY / "members_semicolons.csv").read_bytes())
    assert table.notes == (
        "Columns are separated by semicolons.",
        "Row 9 looks like a line of totals and is left out.",
    )
    assert [row.cell(1).text for row in table.rows][:4] == ["004417", "1E5", "100083", "000120"]
    assert table.rows[0].cell(2).text == "Marisol Núñez"
    assert table.rows[2].cell(8).oddity is Oddity.FORMULA
