"""Files of coordinates as people have them: a table that is read, or a plain word why not. In
neither case is anything saved before it is accepted."""

from __future__ import annotations

import random
from typing import Any

import pytest

from tests.factories import Band, Cast
from tests.lib.imports_help import dump, upload, words, xlsx_file

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("odd text reaches the columns")]

GOOD = "show,set,counts,place,x,y\nTidewheel,1,0,1-1,-16,28\nTidewheel,12A,16,1-1,-8,28\n"
ROWS = [line.split(",") for line in GOOD.split()]
READ = {
    "semicolons.csv": GOOD.replace(",", ";").replace("-16", "-16,5").encode(),
    "tabs.tsv": GOOD.replace(",", "\t").encode(),
    "utf16.csv": b"\xff\xfe" + GOOD.encode("utf-16-le"),
    "carriage returns.csv": GOOD.replace("\n", "\r").encode(),
    "blank ends.csv": GOOD.replace("\n", ",,,,\n").encode() + b",,,,,,,,\n" * 5,
    "blank rows.csv": GOOD.replace("\n", "\n\n,,\n").encode(),
    "book.xlsx": xlsx_file(*ROWS),
    "numbers.xlsx": xlsx_file(
        ROWS[0], ["Tidewheel", 1.0, 0, "1-1", -16.5, 28.0], ["Tidewheel", "12A", 16, "1-1", -8, 28]
    ),
    "merged header.xlsx": xlsx_file(
        ["Tidewheel"],
        ["place", "Set 1", None, "Set 12A (16 counts)", None],
        [None, "x", "y", "x", "y"],
        ["1-1", -16, 28, -8, 28],
    ),
}
REFUSED = {
    "empty.csv": (b"", "The submitted file is empty."),
    "blanks.csv": (b"\n,,,\n  \n", "blanks.csv is empty: no headers"),
    "header.csv": (b"show,set,place,x,y\n", "header.csv has no rows below its headers."),
    "block.csv": (b"Tidewheel\nPlace 1-1\nset,x,y\n", "has no rows below its headers."),
    "wide.csv": (b"Tidewheel\nplace,set 1 x,set 1 y\n", "has no rows below its headers."),
    "picture.csv": (b"\x89PNG\r\n\x1a\n" + random.Random(1).randbytes(2000), "is not a table"),
    "large picture.csv": (random.Random(2).randbytes(5 * 2**20), "is not a table"),
    "utf16 unmarked.csv": (GOOD.encode("utf-16-le"), "save it as CSV in UTF-8, or as .xlsx."),
    "page.csv": (b"<html><table><tr><td>set</td></tr></table></html>\n", "is not a table"),
    "archive.csv": (b"PK\x03\x04" + bytes(200), "cannot be read as a spreadsheet"),
    "old.xls": (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600), "is an old Excel file"),
    "quote.csv": (GOOD.replace("1-1", '"1-1', 1).encode(), "quotation marks do not pair"),
    "cell.csv": (b"show,set\n" + b"a" * 5 * 2**20, "line 2: a cell is too long"),
    "large.csv": (b"a,b\n" * (2 * 2**20 + 1), "large.csv is larger than 8 MB."),
}
FAULTY = {
    "formulas.csv": (GOOD.replace("-16", "=A1+1"), (2, "x"), "“=A1+1” is not understood"),
    "errors.csv": (GOOD.replace("-16", "#REF!"), (2, "x"), "is a spreadsheet error"),
    "columns.csv": (GOOD.replace("x,y", "x,x"), (0, "across"), "across and depth, or coordinate"),
    "thousands.csv": (GOOD.replace("-16", '"1.234,5"'), (2, "x"), "“1.234,5” is not a number."),
    "date.csv": (GOOD.replace("12A", "12-Jan"), (3, "set"), "looks like a date"),
}


@pytest.fixture
def staff(band: Band, cast: Cast, signed_in: Any) -> Any:
    return signed_in(cast.staff)


@pytest.mark.parametrize("name", READ)
def test_a_file_in_any_usual_form_is_read(staff: Any, name: str) -> None:
    page = upload(staff, "coordinates", READ[name], name)
    plan = page.context["plan"]
    assert not plan.faults and not plan.remarks
    assert [line.label for line in plan.lines] == ["Tidewheel, version 1: 2 sets, 2 positions"]


@pytest.mark.parametrize("name", REFUSED)
def test_what_is_no_table_is_refused_in_plain_words(staff: Any, name: str) -> None:
    content, message = REFUSED[name]
    before = dump()
    page = upload(staff, "coordinates", content, name)
    assert page.status_code == 200
    assert message in words(page)
    assert dump() == before


@pytest.mark.parametrize("name", FAULTY)
def test_a_cell_that_is_no_value_is_named_once(staff: Any, name: str) -> None:
    text, where, message = FAULTY[name]
    before = dump()
    plan = upload(staff, "coordinates", text.encode(), name).context["plan"]
    assert [(f.row, f.column) for f in plan.faults] == [where]
    assert message in plan.faults[0].message
    assert dump() == before


def test_many_repeated_rows_are_planned_in_reasonable_time(staff: Any) -> None:
    """A set that stands in a file thousands of times is one fault, soon told."""
    import time

    text = "show,set,place,x,y\n" + "Tidewheel,1,1-1,0,28\n" * 8_000
    started = time.process_time()
    plan = upload(staff, "coordinates", text.encode()).context["plan"]
    assert [(f.row, f.column) for f in plan.faults] == [(3, "set")]
    assert time.process_time() - started < 10
