"""Taking an action back from the audit: every row goes back to what it was, or nothing does."""

from __future__ import annotations

import datetime
import json
from itertools import groupby
from typing import Any

from django.db import IntegrityError, connection, models
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.audit.naming import model_known
from bandops.lib.audit.recording import recorded
from bandops.lib.audit.since import portions, used_since
from bandops.lib.audit.ties import REVERSED
from bandops.lib.errors import Refused

Model = type[models.Model]


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


def _reverse_all(entries: list[AuditEntry], refusal: str) -> None:
    """Newest first; Refused where something that came since stands in the way."""
    try:
        for (table, op), some in groupby(entries, key=lambda e: (e.table, e.op)):
            _reverse(model_known(table), op, list(some))
        connection.check_constraints()
    except IntegrityError as error:
        raise Refused(f"{refusal}: what it replaced no longer fits.") from error


def _reverse(model: Model, op: str, entries: list[AuditEntry]) -> None:
    if op == AuditEntry.Op.INSERT:
        for ids in portions(entry.row_id for entry in entries):
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
