"""What has changed or used an action's rows since, so that it cannot be taken back any more."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from itertools import islice
from typing import Any

from django.db.models import Exists, ForeignObjectRel, OuterRef

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.naming import model_known, names_of, table_name
from bandops.lib.audit.reading import actions

AT_ONCE = 500
Row = tuple[str, str]
"""a row of any table: the table and its id"""


def used_since(entries: list[AuditEntry]) -> list[str]:
    """What changed or refers to the action's rows since, in words.

    What was changed and then changed back, by an undone import for one, is no use.
    """
    if not entries:
        return []
    by_table: dict[str, set[str]] = defaultdict(set)
    for entry in entries:
        by_table[entry.table].add(entry.row_id)
    newest = max(entry.pk for entry in entries)
    changes = [change for table, ids in by_table.items() for change in _later(table, ids, newest)]
    found = _in_words(_differing(changes))
    return list(dict.fromkeys([*found, *_referring(entries, by_table)]))[:50]


def overtaken(batches: Iterable[str]) -> set[str]:
    """Those of the actions whose rows were changed since, and not changed back."""
    written = AuditEntry.objects.filter(batch__in=list(batches)).exclude(op=AuditEntry.Op.VIEW)
    later = AuditEntry.objects.exclude(op=AuditEntry.Op.VIEW).filter(
        table=OuterRef("table"), row_id=OuterRef("row_id"), pk__gt=OuterRef("pk")
    )
    rows: dict[str, dict[Row, int]] = defaultdict(dict)
    touched = written.filter(Exists(later.exclude(batch=OuterRef("batch"))))
    for batch, table, row_id, pk in touched.order_by("id").values_list(
        "batch", "table", "row_id", "pk"
    ):
        rows[batch][table, row_id] = pk
    changes = _changes_of({row for some in rows.values() for row in some})
    return {batch for batch, some in rows.items() if _differ(some, changes)}


def _differ(rows: Mapping[Row, int], changes: Mapping[Row, list[AuditEntry]]) -> bool:
    """True if a row is not as the action left it: ``rows`` has each row's last entry in it."""
    return any(_differing([c for c in changes[row] if c.pk > pk]) for row, pk in rows.items())


def _changes_of(rows: Iterable[Row]) -> dict[Row, list[AuditEntry]]:
    """The changes of each row, oldest first."""
    by_table: dict[str, set[str]] = defaultdict(set)
    for table, row_id in rows:
        by_table[table].add(row_id)
    found: dict[Row, list[AuditEntry]] = defaultdict(list)
    for table, ids in by_table.items():
        for change in _later(table, ids, 0):
            found[change.table, change.row_id].append(change)
    return found


def _later(table: str, ids: set[str], newest: int) -> Iterator[AuditEntry]:
    """The changes of a table's rows after an entry, oldest first."""
    for some in portions(ids):
        later = AuditEntry.objects.filter(table=table, row_id__in=some, pk__gt=newest)
        yield from later.exclude(op=AuditEntry.Op.VIEW).order_by("id")


def _differing(changes: Iterable[AuditEntry]) -> list[AuditEntry]:
    """The last change of each row that is not as it was before the first."""
    rows: dict[Row, list[AuditEntry]] = defaultdict(list)
    for change in changes:
        rows[change.table, change.row_id].append(change)
    return [row[-1] for row in rows.values() if _said(row[0], True) != _said(row[-1], False)]


def _said(change: AuditEntry, before: bool) -> dict[str, Any] | None:
    """The row without what no taking back restores."""
    row = change.before if before else change.after
    left_out = getattr(model_known(change.table), "audit_undone", {})
    return row and {name: value for name, value in row.items() if name not in left_out}


def _in_words(changes: list[AuditEntry]) -> Iterator[str]:
    """What is no longer as it was, and the action that changed it as the history says it."""
    said = {a.batch: f"{a.by} {a.said}" for a in actions({c.batch for c in changes} - {""})}
    names = names_of(changes)
    for change in changes:
        what = names.row(change) or table_name(change.table)
        yield f"{what}: {said.get(change.batch) or change.get_op_display()}"


def _referring(entries: list[AuditEntry], by_table: Mapping[str, set[str]]) -> list[str]:
    """Rows outside the action that point to rows it added."""
    found = []
    added: dict[str, set[str]] = defaultdict(set)
    for entry in entries:
        if entry.op == AuditEntry.Op.INSERT:
            added[entry.table].add(entry.row_id)
    for table, ids in added.items():
        for relation in model_known(table)._meta.get_fields(include_hidden=True):
            if not isinstance(relation, ForeignObjectRel) or relation.many_to_many:
                continue
            other = relation.related_model
            own = by_table.get(other._meta.db_table, set())
            for some in portions(ids):
                rows = other._base_manager.filter(**{f"{relation.field.name}__in": some})
                outside = (row for row in rows if str(row.pk) not in own)
                found += [str(row) for row in islice(outside, 20)]
    return found


def portions(ids: Iterable[Any]) -> Iterator[list[Any]]:
    """In the sizes that both databases take in one statement."""
    rest = iter(ids)
    while some := list(islice(rest, AT_ONCE)):
        yield some
