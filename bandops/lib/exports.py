"""Tables out of the tool, safe to open in a spreadsheet.

A CSV cell that a spreadsheet would take for a formula gets a leading apostrophe, which the
import takes off again; XLSX cells are written as text, so they need none.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

from django.http import HttpResponse
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

Rows = Iterable[Sequence[object]]


def guarded(value: object) -> str:
    """The text of a CSV cell, never a formula."""
    text = "" if value is None else str(value)
    if text.startswith(FORMULA_STARTS) and not _is_number(text):
        return "'" + text
    return text


def to_csv(headers: Sequence[str], rows: Rows) -> bytes:
    """RFC 4180 with a byte-order mark, which spreadsheets need to see UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([guarded(h) for h in headers])
    writer.writerows([guarded(value) for value in row] for row in rows)
    return b"\xef\xbb\xbf" + out.getvalue().encode()


def to_xlsx(title: str, headers: Sequence[str], rows: Rows) -> bytes:
    """A workbook of text cells."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(title[:31])
    for row in [headers, *rows]:
        cells = []
        for value in row:
            cell = WriteOnlyCell(sheet, "" if value is None else str(value))
            cell.data_type = "s"
            cell.number_format = "@"
            cells.append(cell)
        sheet.append(cells)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def table_response(name: str, form: str, headers: Sequence[str], rows: Rows) -> HttpResponse:
    """A download of the table as ``csv`` or ``xlsx``."""
    if form == "xlsx":
        response = HttpResponse(to_xlsx(name, headers, rows), content_type=XLSX)
    else:
        form = "csv"
        response = HttpResponse(to_csv(headers, rows), content_type="text/csv; charset=utf-8")
    response["Content-Disposition"] = f'attachment; filename="{name}.{form}"'
    return response


def _is_number(text: str) -> bool:
    try:
        float(text)
    except ValueError:
        return False
    return True
