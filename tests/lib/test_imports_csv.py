"""Tables of text as bands send them: the standard, delimiters, encodings."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.imports.csv_rows import decode
from bandops.lib.imports.reading import read_table
from tests.lib.imports_help import csv_file
from tests.lib.tables_help import MESSY, texts

SOURCES = Path(__file__).parents[1] / "sources"
RFC_4180 = json.loads((SOURCES / "csv_rfc4180.json").read_text(encoding="utf-8"))


@pytest.mark.source("RFC 4180 section 2")
@pytest.mark.parametrize("case", RFC_4180, ids=lambda case: repr(case["input"])[:40])
def test_every_case_of_the_standard_reads_as_the_standard_says(case: dict[str, Any]) -> None:
    """The case stands below a header row; empty cells at a row's end come back as empty."""
    rows: list[list[str]] = case["rows"]
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
    [(b"a;b\r\n1;2\r\n", "semicolons"), (b"a\tb\n1\t2\n", "tabs"), (b"a|b\n1|2\n", "blocks")],
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


def test_cells_with_lists_do_not_hide_the_delimiter() -> None:
    rows = [["a", "b; c; d"], ["e", "f; g; h"], ["i"], ["j", "k", "l"]]
    table = read_table("f.csv", csv_file(["name", "parts"], *rows))
    assert table.headers == ("name", "parts")
    rows = [["x", "x;x"], ["y", "y;y"]]
    table = read_table("f.csv", csv_file(["name", "parts", "rank", "spot"], *rows))
    assert table.headers == ("name", "parts", "rank", "spot")


def test_the_messy_latin_file_reads_as_it_was_meant() -> None:
    table = read_table("f.csv", (MESSY / "members_latin1.csv").read_bytes())
    names = [row.cell(1).text for row in table.rows]
    assert "Marisol Núñez Ibarrondo" in names
    assert "Søren van der Zandt" in names
    assert "João Ferreirinha" in names
