"""Files that are no tables, or too large: refused with a plain word."""

from __future__ import annotations

import io

import pytest
from openpyxl import Workbook
from pytest_django import Settings

from bandops.lib.errors import Refused
from bandops.lib.imports.reading import read_table
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
