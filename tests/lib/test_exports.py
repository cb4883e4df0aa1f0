"""Tables out: safe in a spreadsheet, and the same when they come in again."""

from __future__ import annotations

import io
from decimal import Decimal

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.exports.tables import guarded, table_response, to_csv, to_xlsx
from bandops.lib.imports.reading import read_table

ATTACKS = [
    '=HYPERLINK("https://quillwater.example";"x")',
    "=1+1",
    "+1+cmd|' /C calc'!A0",
    "-2+3+cmd|' /C calc'!A0",
    "@SUM(1+9)",
    "\t=1+1",
    "\r=1+1",
    "\n=1+1",
    "＝1+1",
    "+12935550101",
    "-1E5",
]
CODES = ["004417", "1E5", "5-11", "Núñez", "'t Hooft", "''", "a;b", 'say "hi"', "two\r\nlines"]


def read(content: bytes, name: str) -> list[str]:
    return [row.cell(0).text for row in read_table(name, content).rows]


@pytest.mark.source("OWASP, CSV Injection (from memory)")
@pytest.mark.parametrize("attack", ATTACKS)
def test_no_csv_cell_begins_as_a_formula(attack: str) -> None:
    assert guarded(attack).startswith("'")
    assert to_csv(["a", "b"], [[attack, "x"]]).decode("utf-8-sig").split("\r\n", 1)[1][:2] in (
        f"'{attack[0]}",
        "\"'",
    )


@pytest.mark.source("OWASP, CSV Injection (from memory)")
@pytest.mark.parametrize("attack", ATTACKS)
def test_a_spreadsheet_s_cells_are_text(attack: str) -> None:
    sheet = openpyxl.load_workbook(io.BytesIO(to_xlsx("t", ["a"], [[attack]]))).active
    assert sheet["A2"].data_type == "s"
    assert sheet["A2"].number_format == "@"


@pytest.mark.parametrize("text", [*ATTACKS, *CODES, "'=1", "''=1", "'-5"])
def test_a_csv_cell_comes_back_as_it_was(text: str) -> None:
    assert read(to_csv(["a", "b"], [[text, "x"]]), "f.csv") == [text]


@pytest.mark.parametrize("text", [t for t in [*ATTACKS, *CODES, "'=1"] if "\r" not in t])
def test_a_spreadsheet_s_cell_comes_back_as_it_was(text: str) -> None:
    assert read(to_xlsx("t", ["a", "b"], [[text, "x"]]), "f.xlsx") == [text]


@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs", "Cc"])))
def test_any_text_goes_out_and_comes_in(text: str) -> None:
    assert read(to_csv(["a", "b"], [[text, "x"]]), "f.csv") == [text]
    assert read(to_xlsx("t", ["a", "b"], [[text, "x"]]), "f.xlsx") == [text]


def test_numbers_stay_numbers_and_nothing_stays_empty() -> None:
    assert [guarded(x) for x in (-5, -0.5, Decimal("-1.25"), None, 0)] == [
        "-5", "-0.5", "-1.25", "", "0",
    ]  # fmt: skip


@pytest.mark.source("RFC 4180 section 2")
def test_the_file_is_as_the_standard_says_with_a_mark_for_spreadsheets() -> None:
    content = to_csv(["a", "b"], [['say "hi"', "x,y"], ["two\r\nlines", ""]])
    assert content.startswith(b"\xef\xbb\xbf")
    assert content[3:] == b'a,b\r\n"say ""hi""","x,y"\r\n"two\r\nlines",\r\n'


def test_control_characters_do_not_break_a_spreadsheet() -> None:
    assert read(to_xlsx("t", ["a"], [["a\x0bb"]]), "f.xlsx") == ["a b"]


def test_downloads_are_named() -> None:
    for form in ("csv", "xlsx"):
        response = table_response("members", form, ["a"], [["1"]])
        assert response["Content-Disposition"] == f'attachment; filename="members.{form}"'
