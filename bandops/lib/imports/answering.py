"""The part of a review in which free text is accepted or corrected row by row."""

from __future__ import annotations

from typing import Any

from django.http import QueryDict

from bandops.lib.imports.kinds import ImportKind
from bandops.lib.imports.models import ImportUpload
from bandops.lib.imports.plan import Mapped
from bandops.lib.imports.proposals import Proposal, answered, overlaid, posted_answers
from bandops.lib.imports.tables import Table

MOST_SHOWN = 100
"""rows at a time: a form has no more fields than Django takes"""


def answered_table(
    kind: ImportKind, table: Table, kept: ImportUpload
) -> tuple[Table, dict[str, int]]:
    """The file's table and columns with what the reviewer put in."""
    mapped = answered(Mapped(table, kind.columns, kept.mapping), kept.answers)
    return (mapped.table, mapped.mapping) if kept.answers else (table, kept.mapping)


def proposals(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> list[Proposal]:
    """The rows with free text, as they are read or as the reviewer left them; where there are
    many, those that nobody has checked yet come first."""
    found = overlaid(_read(kind, table, kept, season), kept.answers)
    waiting = sorted(found, key=lambda it: it.checked) if len(found) > MOST_SHOWN else found
    return waiting[:MOST_SHOWN]


def keep_answers(
    kept: ImportUpload, sent: QueryDict, kind: ImportKind, table: Table, season: Any
) -> None:
    """Keep with the upload what was ticked or changed; what was not shown stays as it was."""
    read = _read(kind, table, kept, season)
    shown = [it for it in read if f"shown-{it.row}" in sent]
    rest = {row: cells for row, cells in kept.answers.items() if f"shown-{row}" not in sent}
    kept.answers = rest | posted_answers(sent.dict(), shown)  # type: ignore[arg-type]
    kept.save()


def _read(kind: ImportKind, table: Table, kept: ImportUpload, season: Any) -> list[Proposal]:
    if kind.proposer is None:
        return []
    return kind.proposer(Mapped(table, kind.columns, kept.mapping), season)
