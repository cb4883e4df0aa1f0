"""Files that are no tables, or too large: refused with a plain word."""

from __future__ import annotations

import io
import zipfile

import openpyxl
import pytest
from openpyxl import Workbook
from pytest_django import Settings

from bandops.lib.errors import Refused
from bandops.lib.imports import xlsx_rows
from bandops.lib.imports.reading import read_table
from bandops.lib.imports.tables import WIDEST, Cell, text_cell
from tests.lib.imports_help import csv_file, xlsx_file
from tests.lib.tables_help import WRONG, zipped


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_is_refused_in_plain_words(name: str) -> None:
    content, message = WRONG[name]
    with pytest.raises(Refused, match=message):
        read_table("roster.csv", content)


def test_too_many_rows_and_bytes_are_refused(settings: Settings) -> None:
    settings.IMPORT_MAX_ROWS = 3
    rows = [["x", "y"]] * 4
    for content in (csv_file(["a", "b"], *rows), xlsx_file(["a", "b"], *rows)):
        with pytest.raises(Refused, match="more than 3 rows"):
            read_table("f", content)
    assert len(read_table("f", csv_file(["a", "b"], *rows[:3])).rows) == 3
    settings.IMPORT_MAX_BYTES = 2**20
    with pytest.raises(Refused, match="larger than 1 MB"):
        read_table("f", b"a,b\n" + b"x" * 2**20)


def test_a_file_that_unpacks_to_too_much_is_refused_unread() -> None:
    content = zipped(**{"xl/worksheets/sheet1.xml": b" " * (101 * 2**20)})
    assert len(content) < 2**20
    with pytest.raises(Refused, match="unpacks to more than it should"):
        read_table("f.xlsx", content)


def test_a_cell_far_to_the_right_does_not_fill_the_memory() -> None:
    book = Workbook()
    book.active.append(["a", "b"])
    for number in range(2, 400):
        book.active.cell(number, 16_384, "x")
        book.active.cell(number, 1, "y")
    out = io.BytesIO()
    book.save(out)
    table = read_table("f.xlsx", out.getvalue())
    assert max(len(row.cells) for row in table.rows) <= 201


XSD = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"


def sheet_of(rows: str) -> bytes:
    """A workbook whose one sheet has these rows, as another program might write them."""
    made = io.BytesIO()
    book = openpyxl.Workbook()
    book.save(made)
    with zipfile.ZipFile(made) as old:
        parts = {p: old.read(p) for p in old.namelist()}
    text = f'<worksheet xmlns="{XSD}"><sheetData>{rows}</sheetData></worksheet>'
    parts["xl/worksheets/sheet1.xml"] = text.encode()
    again = io.BytesIO()
    with zipfile.ZipFile(again, "w", zipfile.ZIP_DEFLATED) as new:
        for name, content in parts.items():
            new.writestr(name, content)
    return again.getvalue()


def cell(address: str, text: str) -> str:
    return f'<c r="{address}" t="inlineStr"><is><t>{text}</t></is></c>'


HEAD = f'<row r="1">{cell("A1", "name")}</row>'


@pytest.mark.source("a sheet ends with row 1,048,576: ECMA-376, 18.3.1.73, and common practice")
def test_a_cell_at_the_end_of_a_sheet_costs_nothing_for_the_rows_before() -> None:
    """Counted, not timed: how many cells were looked at."""
    seen: list[str] = []

    def look(value: object, number_format: str) -> Cell:
        seen.append("x")
        return text_cell(str(value or ""))

    far = '<row r="1048576"><c r="A1048576" s="0"/></row>'
    text = HEAD + f'<row r="900000">{cell("A900000", "Ana")}</row>' + far
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(xlsx_rows, "_xlsx_cell", look)
        rows, _ = xlsx_rows.read_xlsx("far.xlsx", sheet_of(text))
    assert [(number, [c.text for c in row]) for number, row in rows] == [
        (1, ["name"]),
        (900000, ["Ana"]),
    ]
    assert len(seen) == 2 * (WIDEST + 1)


@pytest.mark.parametrize(
    "rows",
    [
        f'<row r="999999999">{cell("A999999999", "x")}</row>',
        "".join(f'<row r="{n}"><c r="A{n}" s="0"/></row>' for n in range(2, 60_000)),
    ],
)
def test_rows_without_end_are_refused(rows: str) -> None:
    with pytest.raises(Refused, match="more rows than a sheet can have"):
        xlsx_rows.read_xlsx("endless.xlsx", sheet_of(HEAD + rows))


def test_a_workbook_of_large_parts_or_many_sheets_is_refused() -> None:
    book = openpyxl.Workbook()
    for _ in range(xlsx_rows.MOST_SHEETS):
        book.create_sheet()
    made = io.BytesIO()
    book.save(made)
    with pytest.raises(Refused, match="sheets"):
        xlsx_rows.read_xlsx("many.xlsx", made.getvalue())
    with zipfile.ZipFile(made, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/large.xml", b" " * (xlsx_rows.MAX_PART + 1))
    with pytest.raises(Refused, match="unpacks"):
        xlsx_rows.read_xlsx("large.xlsx", made.getvalue())


@pytest.mark.parametrize("encoding", ["utf-16-le", "utf-16-be"])
def test_two_bytes_a_letter_without_their_mark_are_told_what_to_save_as(encoding: str) -> None:
    with pytest.raises(Refused, match="save it as CSV in UTF-8"):
        read_table("f.csv", "member,spot\r\nAna Núñez,1-1\r\n".encode(encoding))


@pytest.mark.parametrize("content", [b"\n\n  \n,,,\n", b"\xef\xbb\xbf", b"\xff\xfe", b" , \n"])
def test_a_file_of_blanks_is_called_empty(content: bytes) -> None:
    with pytest.raises(Refused, match="is empty: no headers"):
        read_table("f.csv", content)


@pytest.mark.parametrize(
    "content",
    [
        b"<!DOCTYPE html><html><body><table><tr><td>a</td></tr></table></body></html>\n",
        b"\n<html>\n<p>a,b\n1,2\n",
        b"<?xml version='1.0'?>\n<a b=','/>\n",
        b"{\\rtf1\\ansi a,b\\par 1,2}\n",
        b"\x89PNG\r\n\x1a\n" + bytes(range(256)) * 8,
    ],
)
def test_a_page_or_a_picture_under_a_tables_name_is_no_table(content: bytes) -> None:
    with pytest.raises(Refused, match="is not a table: save it"):
        read_table("f.csv", content)
