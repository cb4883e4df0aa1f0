"""Whoever saves a page is told what others changed since it was opened."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import field_of, model_of
from bandops.lib.audit.reading import QUIET, changes_in_words
from bandops.lib.audit.since import Row, portions
from bandops.lib.errors import Overtaken

LATE = datetime.timedelta(seconds=2)
"""so long before a page was opened a change may have begun that it does not show yet"""
MOST_TOLD = 8
LATELY = 5_000
"""entries back that rows added again are looked for among"""


class ChangedMeanwhile(Overtaken):
    """Others changed what would be written over."""

    def __init__(self, entries: list[AuditEntry]) -> None:
        super().__init__(
            "This changed since you opened it, so nothing was saved yet. "
            "To keep what you entered all the same, save again."
        )
        self.entries = entries

    @property
    def details(self) -> tuple[str, ...]:
        """Put in words once the action is rolled back: within it rows have names of its own."""
        lines = changes_in_words(self.entries)
        more = len(lines) - MOST_TOLD
        return (*lines[:MOST_TOLD], *([f"… and {more} more."] if more > 0 else ()))

    @details.setter
    def details(self, details: tuple[str, ...]) -> None:
        """What the refusal is made with: nothing beside its entries."""


def refuse_overwriting(batch: str, opened: datetime.datetime) -> None:
    """Overtaken, with what others changed since ``opened``, where the action would write over it.

    It would if it changes the same columns of the same rows, removes rows that were added or
    changed, or adds again what was removed. Called before the action's commit.
    """
    done = list(AuditEntry.objects.filter(batch=batch).order_by("id"))
    since = AuditEntry.objects.filter(at__gt=opened - LATE, actor_id__isnull=False)
    others = since.exclude(actor_id=done[0].actor_id if done else None).order_by("id")
    mine = _by_row(entry for entry in done if entry.op != AuditEntry.Op.INSERT)
    lost = [e for row, theirs in _of_rows(others, mine).items() for e in _both(mine[row], theirs)]
    lost += _added_again(others, [entry for entry in done if entry.op == AuditEntry.Op.INSERT])
    if lost:
        raise ChangedMeanwhile(lost)


def _by_row(entries: Iterable[AuditEntry]) -> dict[Row, list[AuditEntry]]:
    rows: dict[Row, list[AuditEntry]] = defaultdict(list)
    for entry in entries:
        rows[entry.table, entry.row_id].append(entry)
    return rows


def _of_rows(others: QuerySet[AuditEntry], rows: Iterable[Row]) -> dict[Row, list[AuditEntry]]:
    """What other people did to the rows, oldest first."""
    tables: dict[str, set[str]] = defaultdict(set)
    for table, row_id in rows:
        tables[table].add(row_id)
    found: list[AuditEntry] = []
    for table, ids in tables.items():
        for some in portions(ids):
            found += others.filter(table=table, row_id__in=some).exclude(op=AuditEntry.Op.VIEW)
    return _by_row(found)


def _added_again(others: QuerySet[AuditEntry], added: list[AuditEntry]) -> list[AuditEntry]:
    """What others removed and these rows say again: a name taken off a list that was ticked."""
    if not added:
        return []
    said = {(entry.table, _entered(entry.table, entry.after)) for entry in added}
    # By number, which is indexed: a table's entries of all years are not gone through.
    lately = others.filter(pk__gt=added[0].pk - LATELY, op=AuditEntry.Op.DELETE)
    removed = lately.filter(table__in={entry.table for entry in added})
    return [e for e in removed if (e.table, _entered(e.table, e.before)) in said]


def _entered(table: str, row: dict[str, Any] | None) -> frozenset[tuple[str, str]]:
    return frozenset((c, str(v)) for c, v in (row or {}).items() if _is_entered(table, c))


def _both(mine: list[AuditEntry], theirs: list[AuditEntry]) -> list[AuditEntry]:
    """Their changes that mine would undo or hide: nothing where they left the row as it was."""
    ours, others = _columns(mine), _columns(theirs)
    if mine[-1].op == AuditEntry.Op.DELETE:
        return theirs if others or theirs[0].op == AuditEntry.Op.INSERT else []
    both = ours & others
    return [entry for entry in theirs if both & _columns([entry])]


def _columns(entries: list[AuditEntry]) -> set[str]:
    """The columns that are not after these changes as they were before them."""
    first = min(entries, key=lambda entry: entry.pk).before
    last = max(entries, key=lambda entry: entry.pk).after
    before, after = first or _defaults(entries[0].table), last or {}
    table = entries[0].table
    return {c for c in after if before.get(c) != after[c] and _is_entered(table, c)}


def _defaults(table: str) -> dict[str, Any]:
    """What a row that nobody filled in says: settings are made with the first change of one."""
    model = model_of(table)
    fields = model._meta.concrete_fields if model is not None else ()
    found = {str(f.column): f.default for f in fields if f.has_default()}
    return {column: default for column, default in found.items() if not callable(default)}


def _is_entered(table: str, column: str) -> bool:
    """Not what the program keeps for itself beside what people enter."""
    field = field_of(model_of(table), column)
    return field is not None and field.editable and column not in QUIET
