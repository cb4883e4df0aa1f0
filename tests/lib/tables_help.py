"""Files of the tests of reading: messy ones, and ones that are wrong."""

from __future__ import annotations

import io
import zipfile
from pathlib import Path

from bandops.lib.imports.reading import read_table
from tests.lib.imports_help import csv_file, xlsx_file

MESSY = Path(__file__).parents[2] / "fixtures" / "samples" / "messy"


def texts(content: bytes, name: str = "f.csv") -> list[list[str]]:
    """Header and rows as text."""
    table = read_table(name, content)
    rows = [[c.text for c in row.cells] for row in table.rows]
    return [list(table.headers), *rows]


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
