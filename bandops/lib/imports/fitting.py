"""Which kind of import a sheet is, told by its columns."""

from __future__ import annotations

from collections.abc import Container

from bandops.lib.errors import Refused
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.holding import recognised
from bandops.lib.imports.kinds import ImportKind, all_kinds
from bandops.lib.imports.reading import FileRows

FEWEST_COLUMNS = 2
"""columns that a sheet shares with a kind of import before it may be one"""


def likely_kind(file: FileRows, but: Container[str] = ()) -> str:
    """The key of the kind of import that shares most columns with a sheet; empty for none."""
    shared = {kind.key: shared_columns(kind, file) for kind in all_kinds() if kind.key not in but}
    best = max(shared, key=lambda key: shared[key], default="")
    return best if best and shared[best] >= FEWEST_COLUMNS else ""


def shared_columns(kind: ImportKind, file: FileRows) -> int:
    """How many columns of a kind a sheet has; 0 where it lacks one that is needed."""
    try:
        table = kind.table_of(file)
    except Refused:
        return 0
    mapping = match_headers(table.headers, kind.columns)
    mapping |= recognised(table, kind.columns, mapping)
    return 0 if any(column.lacks(mapping) for column in kind.columns) else len(mapping)
