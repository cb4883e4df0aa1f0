"""Taking an action back from the audit: every row goes back to what it was, or nothing does."""

from __future__ import annotations

import datetime
import json
from collections.abc import Iterable, Iterator
from itertools import groupby, islice
from typing import Any

from django.apps import apps
from django.db import IntegrityError, connection, models
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.audit.recording import recorded
from bandops.lib.audit.ties import REVERSED
from bandops.lib.errors import Refused

Model = type[models.Model]
AT_ONCE = 500


def take_back(*, actor: User, batch: str) -> str:
    """Take one action back; what it was. Refused with the names of what has used it since."""
    with recorded(actor, "take back"):
        entries = list(AuditEntry.objects.filter(batch=batch).order_by("-id"))
        if not entries:
            raise Refused("This action is not in the history.")
        _, made = TakenBack.objects.get_or_create(batch=batch, defaults={"by": actor})
        if not made:
            raise Refused("This was already taken back.")
        reverse_batch(actor, entries, "This cannot be taken back")
    return entries[0].action


def reverse_batch(actor: User, entries: list[AuditEntry], refusal: str) -> None:
    """Bring every row back to what it was, or nothing; ``entries`` newest first. Rooms are told
    what went back."""
    users = used_since(entries)
    if users:
        raise Refused(f"{refusal}: something has used it since.", tuple(users))
    _reverse_all(entries, refusal)
    REVERSED.ask(actor, entries)


def used_since(entries: list[AuditEntry]) -> list[str]:
    """What changed or refers to the action's rows since, by name.

    What was changed and then changed back, by an undone import for one, is no use.
    """
    if not entries:
        return []
    by_table: dict[str, set[str]] = {}
    for entry in entries:
        by_table.setdefault(entry.table, set()).add(entry.row_id)
    newest = max(entry.pk for entry in entries)
    found: list[str] = []
    for table, ids in by_table.items():
        for change in _differing(_later(table, ids, newest)):
            found.append(f"{_name(table, change.row_id)} ({change.action or change.op})")
    return list(dict.fromkeys(found + _referring(entries, by_table)))[:50]


def _later(table: str, ids: set[str], newest: int) -> Iterator[AuditEntry]:
    for some in _portions(ids):
        later = AuditEntry.objects.filter(table=table, row_id__in=some, pk__gt=newest)
        yield from later.exclude(op=AuditEntry.Op.VIEW).order_by("id")


def _differing(changes: Iterable[AuditEntry]) -> list[AuditEntry]:
    """The last change of each row that is not as it was before the first."""
    rows: dict[str, list[AuditEntry]] = {}
    for change in changes:
        rows.setdefault(change.row_id, []).append(change)
    return [row[-1] for row in rows.values() if _said(row[0], True) != _said(row[-1], False)]


def _said(change: AuditEntry, before: bool) -> dict[str, Any] | None:
    """The row without what no taking back restores."""
    row = change.before if before else change.after
    left_out = getattr(_model(change.table), "audit_undone", {})
    return row and {name: value for name, value in row.items() if name not in left_out}


def _referring(entries: list[AuditEntry], by_table: dict[str, set[str]]) -> list[str]:
    """Rows outside the action that point to rows it added."""
    found = []
    added: dict[str, set[str]] = {}
    for entry in entries:
        if entry.op == AuditEntry.Op.INSERT:
            added.setdefault(entry.table, set()).add(entry.row_id)
    for table, ids in added.items():
        for relation in _model(table)._meta.get_fields(include_hidden=True):
            if not isinstance(relation, models.ForeignObjectRel) or relation.many_to_many:
                continue
            other = relation.related_model
            own = by_table.get(other._meta.db_table, set())
            for some in _portions(ids):
                rows = other._base_manager.filter(**{f"{relation.field.name}__in": some})
                outside = (row for row in rows if str(row.pk) not in own)
                found += [str(row) for row in islice(outside, 20)]
    return found


def _portions(ids: Iterable[Any]) -> Iterator[list[Any]]:
    """In the sizes that both databases take in one statement."""
    rest = iter(ids)
    while some := list(islice(rest, AT_ONCE)):
        yield some


def _reverse_all(entries: list[AuditEntry], refusal: str) -> None:
    """Newest first; Refused where something that came since stands in the way."""
    try:
        for (table, op), some in groupby(entries, key=lambda e: (e.table, e.op)):
            _reverse(_model(table), op, list(some))
        connection.check_constraints()
    except IntegrityError as error:
        raise Refused(f"{refusal}: what it replaced no longer fits.") from error


def _reverse(model: Model, op: str, entries: list[AuditEntry]) -> None:
    if op == AuditEntry.Op.INSERT:
        for ids in _portions(entry.row_id for entry in entries):
            rows = model._base_manager.filter(pk__in=ids)
            rows._raw_delete(rows.db)
    elif op == AuditEntry.Op.UPDATE:
        for entry in entries:
            rows = model._base_manager.filter(pk=entry.row_id)
            rows.update(**_values(model, entry.before or {}) | getattr(model, "audit_undone", {}))
    elif op == AuditEntry.Op.DELETE:
        made = [model(**_values(model, entry.before or {})) for entry in entries]
        model._base_manager.bulk_create(made)


def _values(model: Model, row: dict[str, Any]) -> dict[str, Any]:
    values = {}
    for field in model._meta.concrete_fields:
        if field.column in row:
            values[field.attname] = _value(field, row[field.column])
    return values


def _value(field: models.Field[Any, Any], raw: Any) -> Any:
    if raw is None:
        return None
    if isinstance(field, models.JSONField):
        # SQLite keeps JSON as text inside the entry, PostgreSQL as itself.
        return json.loads(raw) if connection.vendor == "sqlite" else raw
    if isinstance(field, models.ForeignKey):
        return raw
    value = field.to_python(raw)
    if isinstance(value, datetime.datetime) and timezone.is_naive(value):
        return value.replace(tzinfo=datetime.UTC)
    return value


def _model(table: str) -> Model:
    return next(m for m in apps.get_models(include_auto_created=True) if m._meta.db_table == table)


def _name(table: str, row_id: str) -> str:
    row = _model(table)._base_manager.filter(pk=row_id).first()
    return str(row) if row else f"a removed {_model(table)._meta.verbose_name}"
