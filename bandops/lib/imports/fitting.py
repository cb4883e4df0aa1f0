"""Which kind of import a sheet is, told by its columns."""

from __future__ import annotations

from collections.abc import Container, Iterable

from bandops.lib.errors import Refused
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.holding import recognised
from bandops.lib.imports.kinds import ImportKind
from bandops.lib.imports.reading import FileRows

FEWEST_COLUMNS = 2
"""columns that a sheet shares with a kind of import before it may be one"""


def likely_kind(file: FileRows, among: Iterable[ImportKind], but: Container[str] = ()) -> str:
    """The key of the kind of import that shares most columns with a sheet; empty for none."""
    kinds = [kind for kind in among if kind.guessed and kind.key not in but]
    shared = {kind.key: len(headers_read(kind, file)) for kind in kinds}
    best = max(shared, key=lambda key: shared[key], default="")
    return best if best and shared[best] >= FEWEST_COLUMNS else ""


def headers_read(kind: ImportKind, file: FileRows) -> tuple[str, ...]:
    """The headers of a sheet that a kind reads; none where it lacks one that is needed."""
    try:
        table = kind.table_of(file)
    except Refused:
        return ()
    mapping = match_headers(table.headers, kind.columns)
    mapping |= recognised(table, kind.columns, mapping)
    if any(column.lacks(mapping) for column in kind.columns):
        return ()
    return tuple(table.headers[at] for at in mapping.values())
