"""Workbooks as bands send them: kinds of cells, sheets, blank rows."""

from __future__ import annotations

import datetime
import io

from openpyxl import Workbook
from pytest_django import Settings

from bandops.lib.imports.reading import read_table
from bandops.lib.imports.tables import Oddity
from tests.lib.imports_help import xlsx_file
from tests.lib.tables_help import texts


def test_a_spreadsheet_s_text_cells_stay_as_written() -> None:
    codes = ["004417", "1E5", "5-11", "Núñez", "=1+1", "TRUE"]
    rows = texts(xlsx_file(["a", "b"], *[[c, "x"] for c in codes]), "f.xlsx")
    assert [row[0] for row in rows[1:]] == codes


def test_a_spreadsheet_s_own_kinds_become_text_and_are_marked() -> None:
    when = datetime.datetime(2026, 10, 16, 18, 0)
    content = xlsx_file(
        ["number", "float", "day", "moment", "time", "yes", "formula"],
        [4417, 0.4, datetime.date(2026, 5, 11), when, datetime.time(19, 30), True, "=1+1"],
        text=False,
    )
    (row,) = read_table("f.xlsx", content).rows
    assert [c.text for c in row.cells] == [
        "4417", "0.4", "2026-05-11", "2026-10-16T18:00:00", "19:30", "yes", "=1+1",
    ]  # fmt: skip
    odd = [c.oddity for c in row.cells]
    assert odd[:4] == [Oddity.NUMBER, Oddity.NUMBER, Oddity.DATE, Oddity.DATE]
    assert odd[6] is Oddity.FORMULA


def test_a_number_shown_with_zeros_keeps_them() -> None:
    book = Workbook()
    book.active.append(["number", "name"])
    book.active.append([4417, "Ana"])
    book.active["A2"].number_format = "000000"
    out = io.BytesIO()
    book.save(out)
    assert texts(out.getvalue())[1] == ["004417", "Ana"]


def test_only_the_first_visible_sheet_is_read_and_that_is_said() -> None:
    book = Workbook()
    book.active.sheet_state = "hidden"
    for title in ("Ranks", "Notes"):
        sheet = book.create_sheet(title)
        sheet.append(["a", "b"])
        sheet.append([title, "x"])
    out = io.BytesIO()
    book.save(out)
    table = read_table("f.xlsx", out.getvalue())
    assert table.rows[0].cells[0].text == "Ranks"
    assert "Read the sheet “Ranks”; the others can be read next." in table.notes


def test_data_below_many_blank_rows_of_a_sheet_is_not_lost(settings: Settings) -> None:
    settings.IMPORT_MAX_ROWS = 5
    book = Workbook()
    book.active.append(["a", "b"])
    book.active["A40"], book.active["B40"] = "late", "x"
    out = io.BytesIO()
    book.save(out)
    (row,) = read_table("f.xlsx", out.getvalue()).rows
    assert (row.number, row.cells[0].text) == (40, "late")
