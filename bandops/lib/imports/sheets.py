"""What else a file holds: the sheets of a workbook, and columns that another import reads."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bandops.lib.errors import Refused
from bandops.lib.imports.fitting import headers_read, likely_kind
from bandops.lib.imports.kinds import ImportKind, kind_of
from bandops.lib.imports.models import LONGEST_SHEET, ImportUpload
from bandops.lib.imports.reading import FileRows, read_rows
from bandops.lib.imports.remembered import mapping_for
from bandops.lib.imports.tables import Table

ONLY = ""
"""the title of the one sheet of a file that is no workbook"""
REST = "to fix, "
"""what the name of a file of rows that were set aside begins with"""


@dataclass(frozen=True)
class SheetRow:
    """A sheet as the page lists it: how many rows, what it was saved as, what it likely is."""

    title: str
    rows: int
    saved: str
    likely: str


def sheet_rows(kept: ImportUpload, among: Sequence[ImportKind]) -> list[SheetRow]:
    """All visible sheets of a workbook, in its order; what is none has one without a title.
    ``among`` are the kinds that a sheet may be."""
    content = bytes(kept.content)
    first = read_rows(kept.filename, content)
    titles = first.sheets.titles or (ONLY,)
    return [_row(kept, read_rows(kept.filename, content, title), among) for title in titles]


def _row(kept: ImportUpload, file: FileRows, among: Sequence[ImportKind]) -> SheetRow:
    saved = kept.saved_sheets.get(file.sheets.read, [])
    titles = ", ".join(kind_of(key).title for key in saved)
    likely = likely_kind(file, among, saved)
    return SheetRow(file.sheets.read, max(0, len(file.rows) - 1), titles, likely)


def holds_more(
    kept: ImportUpload, table: Table, read: Iterable[int], among: Sequence[ImportKind]
) -> bool:
    """True of a workbook with another sheet, and of a file with a column that another kind
    ``among`` these reads and the upload's left out. ``read`` are the positions of those that were
    read."""
    if is_rest(kept):
        return False
    if len(table.sheets) > 1:
        return True
    # What was answered row by row stands in columns behind the file's own.
    left_out = set(table.headers) - {table.headers[at] for at in read if at < len(table.headers)}
    if not left_out:
        return False
    file = read_rows(kept.filename, bytes(kept.content), kept.sheet)
    other = likely_kind(file, among, (kept.kind, *kept.saved_sheets.get(table.sheet, ())))
    return bool(other) and not left_out.isdisjoint(headers_read(kind_of(other), file))


def choose_sheet(kept: ImportUpload, sheet: str, kind: ImportKind) -> None:
    """Review another sheet of a workbook; what was chosen of the last one's rows goes."""
    table = kind.read(kept.filename, bytes(kept.content), sheet)
    if sheet not in (table.sheets or (ONLY,)) or len(sheet) > LONGEST_SHEET:
        raise Refused("The file has no such sheet.")
    kept.kind, kept.sheet, kept.mapping = kind.key, sheet, mapping_for(kind, table)
    kept.left_out, kept.taken_in, kept.answers = {}, [], {}
    kept.save()


def note_saved(kept: ImportUpload, sheet: str) -> None:
    """Remember that a sheet was saved as the upload's kind."""
    kept.saved_sheets[sheet] = [*kept.saved_sheets.get(sheet, []), kept.kind]
    kept.save()


def is_rest(kept: ImportUpload) -> bool:
    """True of the rows of a file that were set aside while the others were saved."""
    return kept.filename.startswith(REST)


def rest_beside(kept: ImportUpload) -> ImportUpload | None:
    """The rows of a workbook's sheets that were set aside last, where some were."""
    name = f"{REST}{kept.filename}"[:200]
    return ImportUpload.objects.filter(by=kept.by_id, filename=name, pk__gt=kept.pk).first()
