"""Tables out of the tool, safe to open in a spreadsheet.

A CSV cell that a spreadsheet would take for a formula gets a leading apostrophe, which the
import takes off again; XLSX cells are written as text, so they need none.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from decimal import Decimal

from django.http import HttpResponse
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell

from bandops.lib.imports.csv_rows import FORMULA_STARTS

NOT_IN_XML = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"

Rows = Iterable[Sequence[object]]


def guarded(value: object) -> str:
    """The text of a CSV cell, never a formula; apostrophes before one are kept apart from ours."""
    text = "" if value is None else str(value)
    if isinstance(value, int | float | Decimal):
        return text
    return "'" + text if text.lstrip("'").startswith(FORMULA_STARTS) else text


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
            text = "" if value is None else NOT_IN_XML.sub(" ", str(value))
            cell = WriteOnlyCell(sheet, text)
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
