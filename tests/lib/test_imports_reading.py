"""Tables as bands send them: what is read, what is noted, what is refused with a plain word."""

from __future__ import annotations

import datetime
import io
import json
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from bandops.lib.errors import Refused
from bandops.lib.imports.plan import Column, Mapped, match_headers, odd_cells
from bandops.lib.imports.reading import Oddity, decode, read_table
from tests.lib.imports_help import csv_file, xlsx_file

SOURCES = Path(__file__).parents[1] / "sources"
MESSY = Path(__file__).parents[2] / "fixtures" / "samples" / "messy"
RFC_4180 = json.loads((SOURCES / "csv_rfc4180.json").read_text(encoding="utf-8"))


def texts(content: bytes, name: str = "f.csv") -> list[list[str]]:
    """Header and rows as text."""
    table = read_table(name, content)
    rows = [[c.text for c in row.cells] for row in table.rows]
    return [list(table.headers), *rows]


@pytest.mark.source("RFC 4180 section 2")
@pytest.mark.parametrize("case", RFC_4180, ids=lambda case: repr(case["input"])[:40])
def test_every_case_of_the_standard_reads_as_the_standard_says(case: dict[str, object]) -> None:
    """The case stands below a header row; empty cells at a row's end come back as empty."""
    rows: list[list[str]] = case["rows"]  # type: ignore[assignment]
    width = max(len(row) for row in rows)
    header = ",".join(f"h{n}" for n in range(width)) + "\r\n"
    table = read_table("f.csv", (header + str(case["input"]) + "\r\nlast\r\n").encode())
    read = [[row.cell(n).text for n in range(width)] for row in table.rows[:-1]]
    assert read == [row for row in rows if any(row)]


@pytest.mark.source("RFC 4180 section 2")
def test_the_last_line_needs_no_line_break() -> None:
    assert texts(b"a,b\r\n1,2") == texts(b"a,b\r\n1,2\r\n") == [["a", "b"], ["1", "2"]]


@pytest.mark.source("RFC 4180 section 2")
@settings(deadline=None)
@given(
    st.lists(
        st.lists(
            st.text(st.characters(exclude_categories=["Cs", "Cc"]), min_size=1),
            min_size=2,
            max_size=4,
        ),
        min_size=1,
        max_size=5,
    )
)
def test_what_is_written_by_the_standard_reads_back(rows: list[list[str]]) -> None:
    body = [[f"x{text}x" for text in row] for row in rows]
    header = [f"h{n}" for n in range(4)]
    assert texts(csv_file(header, *body))[1:] == body


@pytest.mark.parametrize(
    ("content", "delimiter"),
    [(b"a;b\r\n1;2\r\n", "semicolons"), (b"a\tb\n1\t2\n", "tabs"), (b"a|b\n1|2\n", "bars")],
)
def test_another_delimiter_is_found_and_named(content: bytes, delimiter: str) -> None:
    table = read_table("f.csv", content)
    assert table.headers == ("a", "b")
    assert [c.text for c in table.rows[0].cells] == ["1", "2"]
    assert f"Columns are separated by {delimiter}." in table.notes


@pytest.mark.parametrize("first", ["sep=;", '"sep=;"', "SEP=;"])
def test_a_spreadsheet_s_own_line_about_the_delimiter_is_no_header(first: str) -> None:
    table = read_table("f.csv", f"{first}\r\na;b\r\n1,5;2\r\n".encode())
    assert table.headers == ("a", "b")
    assert [(r.number, r.cells[0].text) for r in table.rows] == [(3, "1,5")]


@pytest.mark.parametrize("line_end", ["\r\n", "\n", "\r"])
def test_every_line_end_is_read(line_end: str) -> None:
    content = line_end.join(["a,b", "1,2", "3,4", ""]).encode()
    assert texts(content) == [["a", "b"], ["1", "2"], ["3", "4"]]


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252", "latin-1", "mac_roman"]
)
def test_names_survive_every_usual_encoding(encoding: str) -> None:
    names = ["Marisol Núñez", "Søren Ørnberg", "João Ferreirinha", "Zoë Müller", "François Île"]
    text = "number,name\r\n" + "".join(f"00{n},{name}\r\n" for n, name in enumerate(names))
    assert [row[1] for row in texts(text.encode(encoding))[1:]] == names


def test_utf_16_of_both_byte_orders_is_read() -> None:
    text = "name,number\r\nNúñez,004417\r\n"
    for content in (
        b"\xff\xfe" + text.encode("utf-16-le"),
        b"\xfe\xff" + text.encode("utf-16-be"),
    ):
        assert texts(content) == [["name", "number"], ["Núñez", "004417"]]


@pytest.mark.parametrize(
    ("name", "encoding"),
    [
        ("Núñez", "cp1252"),
        ("NÚÑEZ", "cp1252"),
        ("O’Brannigan", "cp1252"),
        ("Müller", "mac_roman"),
        ("Zoë", "mac_roman"),
        ("José", "mac_roman"),
        ("Łukasz Dąbrowski", "cp1250"),
    ],
)
def test_a_single_name_is_enough_to_tell_the_encoding(name: str, encoding: str) -> None:
    text = f"name,number\n{name},004417\n"
    assert decode(text.encode(encoding)) == (text, encoding)


def test_another_encoding_is_named() -> None:
    notes = read_table("f", "a,b\nNúñez Søren,Zoë\n".encode("cp1252")).notes
    assert notes[0].startswith("Read as cp1252 text")


def test_letters_that_cannot_be_read_are_said() -> None:
    table = read_table("f.csv", b"\xff\xfea\x00,\x00b\x00\n\x00x\x00,\x00\x00\xd8")
    assert any("could not be read" in note for note in table.notes)


def test_codes_stay_as_written() -> None:
    codes = ["004417", "1E5", "5-11", "+1", "0x1F", "007.50", " 12 ", "TRUE", "1,5"]
    assert [row[0] for row in texts(csv_file(["a", "b"], *[[c, "x"] for c in codes]))[1:]] == codes


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


def test_blank_and_double_headers_and_wide_rows_are_named() -> None:
    table = read_table("f.csv", csv_file(["a", "", "a", "b"], ["1", "2", "3", "4", "5"]))
    assert "Column 2 has no header; choose what it is, or it is left out." in table.notes
    assert "Two columns are called “a”; the first is used." in table.notes
    assert "Row 2: more cells than headers; the extra ones are left out." in table.notes


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
    assert "Read the sheet “Ranks”; the others are left out." in table.notes


def test_data_below_many_blank_rows_of_a_sheet_is_not_lost(settings: object) -> None:
    settings.IMPORT_MAX_ROWS = 5  # type: ignore[attr-defined]
    book = Workbook()
    book.active.append(["a", "b"])
    book.active["A40"], book.active["B40"] = "late", "x"
    out = io.BytesIO()
    book.save(out)
    (row,) = read_table("f.xlsx", out.getvalue()).rows
    assert (row.number, row.cells[0].text) == (40, "late")


def zipped(**files: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return out.getvalue()


def broken_sheet() -> bytes:
    """A workbook whose sheet's XML stops in the middle."""
    out = io.BytesIO()
    sound = io.BytesIO(xlsx_file(["a", "b"], ["1", "2"]))
    with zipfile.ZipFile(sound) as whole, zipfile.ZipFile(out, "w") as archive:
        for item in whole.infolist():
            content = whole.read(item)
            cut = item.filename == "xl/worksheets/sheet1.xml"
            archive.writestr(item.filename, content[:-60] if cut else content)
    return out.getvalue()


PNG = b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR\x00\x00\x00\x01\x00\x00\x00\x01\x08\x06\x00\x00\x00"
OLD_XLS = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\x00" * 600
WRONG = {
    "empty": (b"", "is empty"),
    "blank": (b" \r\n\r\n ", "is empty"),
    "mark only": (b"\xef\xbb\xbf", "no rows below its headers"),
    "header only": (b"a,b\r\n", "no rows below its headers"),
    "commas": (b",,\r\n,,\r\n", "no rows below its headers"),
    "png": (PNG, "is not a table"),
    "pdf": (b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\n", "is not a table"),
    "nul": (b"a,b\r\n1\x00,2\r\n", "is not a table"),
    "controls": (b"a,b\r\n1\x01\x02,2\r\n", "is not a table"),
    "utf-16 without a mark": ("a,b\r\n1,2\r\n".encode("utf-16-le"), "is not a table"),
    "old xls": (OLD_XLS, "old Excel file"),
    "zip": (zipped(a=b"1"), "cannot be read as a spreadsheet"),
    "cut zip": (zipped(a=b"1" * 500)[:30], "cannot be read as a spreadsheet"),
    "broken sheet": (broken_sheet(), "cannot be read as a spreadsheet"),
    "open quote": (b'a,b\r\n1,"2\r\n3,4\r\n5,6\r\n', "line 2: a cell's quotation marks"),
    "quote inside": (b'a,b\r\n1,2\r\n"3"4,5\r\n', "line 3: a cell's quotation marks"),
    "endless cell": (b'a,b\r\n1,"' + b"x\r\n" * 60_000, "line 2: a cell is too long"),
    "very wide": (csv_file(["a"] * 300, ["1"] * 300), "more than 200 columns"),
}


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_is_refused_in_plain_words(name: str) -> None:
    content, message = WRONG[name]
    with pytest.raises(Refused, match=message):
        read_table("roster.csv", content)


def test_too_many_rows_and_bytes_are_refused(settings: object) -> None:
    settings.IMPORT_MAX_ROWS = 3  # type: ignore[attr-defined]
    rows = [["x", "y"]] * 4
    for content in (csv_file(["a", "b"], *rows), xlsx_file(["a", "b"], *rows)):
        with pytest.raises(Refused, match="more than 3 rows"):
            read_table("f", content)
    assert len(read_table("f", csv_file(["a", "b"], *rows[:3])).rows) == 3
    settings.IMPORT_MAX_BYTES = 2**20  # type: ignore[attr-defined]
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
    assert any("is taken for a title" in note for note in table.notes)


def test_cells_with_lists_do_not_hide_the_delimiter() -> None:
    rows = [["a", "b; c; d"], ["e", "f; g; h"], ["i"], ["j", "k", "l"]]
    table = read_table("f.csv", csv_file(["name", "parts"], *rows))
    assert table.headers == ("name", "parts")
    rows = [["x", "x;x"], ["y", "y;y"]]
    table = read_table("f.csv", csv_file(["name", "parts", "rank", "spot"], *rows))
    assert table.headers == ("name", "parts", "rank", "spot")


def test_the_messy_file_of_semicolons_is_named_in_full() -> None:
    table = read_table("f.csv", (MESSY / "members_semicolons.csv").read_bytes())
    assert table.notes == (
        "Columns are separated by semicolons.",
        "Row 9 looks like a line of totals and is left out.",
        "Column 4 has no header; choose what it is, or it is left out.",
    )
    assert [row.cell(1).text for row in table.rows][:4] == ["004417", "1E5", "100083", "000120"]
    assert table.rows[0].cell(2).text == "Marisol Núñez"
    assert table.rows[2].cell(8).oddity is Oddity.FORMULA


def test_the_messy_latin_file_reads_as_it_was_meant() -> None:
    table = read_table("f.csv", (MESSY / "members_latin1.csv").read_bytes())
    names = [row.cell(1).text for row in table.rows]
    assert "Marisol Núñez Ibarrondo" in names
    assert "Søren van der Zandt" in names
    assert "João Ferreirinha" in names


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
