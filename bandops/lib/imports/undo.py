"""Undoing an import from the audit: every row goes back to what it was, or nothing does."""

from __future__ import annotations

import datetime
import json
from typing import Any

from django.apps import apps
from django.db import models
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.imports.models import ImportBatch

Model = type[models.Model]


def undo_import(*, actor: User, batch: ImportBatch) -> None:
    """Take an import back; refused with the names of what has used it since."""
    with recorded(actor, "undo import"):
        locked = ImportBatch.objects.select_for_update().get(pk=batch.pk)
        if locked.undone_at is not None:
            raise Refused("This import was undone already.")
        entries = list(AuditEntry.objects.filter(batch=batch.batch).order_by("-id"))
        entries = [e for e in entries if e.table != ImportBatch._meta.db_table]
        users = used_since(entries)
        if users:
            raise Refused("The import cannot be undone: it has been used since.", tuple(users))
        for entry in entries:
            _reverse(entry)
        locked.undone_at = timezone.now()
        locked.save()


def used_since(entries: list[AuditEntry]) -> list[str]:
    """What changed or refers to the imported rows outside the import, by name."""
    if not entries:
        return []
    by_table: dict[str, set[str]] = {}
    for entry in entries:
        by_table.setdefault(entry.table, set()).add(entry.row_id)
    newest = max(entry.pk for entry in entries)
    found: list[str] = []
    for table, ids in by_table.items():
        later = AuditEntry.objects.filter(table=table, row_id__in=ids, pk__gt=newest)
        for change in later.exclude(op=AuditEntry.Op.VIEW).order_by("id"):
            found.append(f"{_name(table, change.row_id)} ({change.action or change.op})")
    return list(dict.fromkeys(found + _referring(entries, by_table)))[:50]


def _referring(entries: list[AuditEntry], by_table: dict[str, set[str]]) -> list[str]:
    """Rows outside the import that point to rows it added."""
    found = []
    added: dict[str, set[str]] = {}
    for entry in entries:
        if entry.op == AuditEntry.Op.INSERT:
            added.setdefault(entry.table, set()).add(entry.row_id)
    for table, ids in added.items():
        model = _model(table)
        for relation in model._meta.get_fields(include_hidden=True):
            if not isinstance(relation, models.ForeignObjectRel) or relation.many_to_many:
                continue
            other = relation.related_model
            own = by_table.get(other._meta.db_table, set())
            rows = other._base_manager.filter(**{f"{relation.field.name}__in": ids})
            found += [str(row) for row in rows.exclude(pk__in=own)[:20]]
    return found


def _reverse(entry: AuditEntry) -> None:
    model = _model(entry.table)
    rows = model._base_manager.filter(pk=entry.row_id)
    if entry.op == AuditEntry.Op.INSERT:
        rows._raw_delete(rows.db)
    elif entry.op == AuditEntry.Op.UPDATE:
        rows.update(**_values(model, entry.before or {}))
    elif entry.op == AuditEntry.Op.DELETE:
        model._base_manager.bulk_create([model(**_values(model, entry.before or {}))])


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
        return json.loads(raw) if isinstance(raw, str) else raw
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
