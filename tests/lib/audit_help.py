"""Entries of the audit, as the tests read them."""

from __future__ import annotations

from typing import Any

from bandops.lib.audit.models import AuditEntry


def entries(table: str, **filters: Any) -> list[AuditEntry]:
    return list(AuditEntry.objects.filter(table=table, **filters).order_by("id"))


def last(table: str) -> AuditEntry:
    return entries(table)[-1]


def before(entry: AuditEntry) -> dict[str, Any]:
    assert entry.before is not None
    return dict(entry.before)


def after(entry: AuditEntry) -> dict[str, Any]:
    assert entry.after is not None
    return dict(entry.after)
