"""What was chosen for files of one shape, for the next file of that shape."""

from __future__ import annotations

import hashlib
from collections.abc import Sequence

from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.fitting import headers_read
from bandops.lib.imports.holding import found_anywhere, recognised
from bandops.lib.imports.kinds import ImportKind
from bandops.lib.imports.models import KnownShape
from bandops.lib.imports.reading import read_rows
from bandops.lib.imports.tables import Table


def read_as_before(kind: ImportKind, filename: str, content: bytes) -> Table:
    """The table of a file; of a workbook the sheet that was chosen for one of the same sheets,
    else the first that has the columns needed.

    Refused where there is none.
    """
    first = read_rows(filename, content)
    titles = first.sheets.titles
    chosen = _choice(kind, "sheets", titles) if len(titles) > 1 else None
    if chosen in titles:
        return kind.read(filename, content, str(chosen))
    if len(titles) > 1 and not headers_read(kind, first):
        others = (read_rows(filename, content, title) for title in titles)
        first = next((file for file in others if headers_read(kind, file)), first)
    return kind.table_of(first)


def mapping_for(kind: ImportKind, table: Table) -> dict[str, int]:
    """Column key -> position: as chosen for the same headers before, else by the headers, and
    by what stands in columns without one or under one that names nothing."""
    chosen = _choice(kind, "headers", table.headers)
    keys = {column.key for column in kind.columns}
    if any(table.headers) and isinstance(chosen, dict) and chosen:
        return {key: position for key, position in chosen.items() if key in keys}
    mapping = match_headers(table.headers, kind.columns)
    mapping = mapping | recognised(table, kind.columns, mapping)
    return found_anywhere(table, kind.columns, mapping)


def remember_columns(kind: ImportKind, table: Table, mapping: dict[str, int]) -> None:
    """Take these columns for the next file with the same headers."""
    if any(table.headers):
        _remember(kind, "headers", table.headers, mapping)


def remember_sheet(kind: ImportKind, table: Table, sheet: str) -> None:
    """Read this sheet of the next workbook with the same sheets."""
    _remember(kind, "sheets", table.sheets, sheet)


def _shape(what: str, texts: Sequence[str]) -> str:
    return hashlib.sha256(repr((what, tuple(texts))).encode()).hexdigest()


def _choice(kind: ImportKind, what: str, texts: Sequence[str]) -> object:
    known = KnownShape.objects.filter(kind=kind.key, shape=_shape(what, texts)).first()
    return known.choice if known else None


def _remember(kind: ImportKind, what: str, texts: Sequence[str], choice: object) -> None:
    KnownShape.objects.update_or_create(
        kind=kind.key, shape=_shape(what, texts), defaults={"choice": choice}
    )
