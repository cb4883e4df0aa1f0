"""Audit entries for people to read."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from django.apps import apps

from bandops.lib.audit.models import AuditEntry

QUIET = {"search", "sort_key", "id"}


@dataclass(frozen=True)
class Readable:
    """An entry with the columns that differ."""

    entry: AuditEntry
    what: str
    changes: tuple[tuple[str, Any, Any], ...]


def readable(entry: AuditEntry) -> Readable:
    """What changed, column by column."""
    before, after = entry.before or {}, entry.after or {}
    names = [n for n in (after or before) if n not in QUIET]
    changes = tuple(
        (n.removesuffix("_id").replace("_", " "), before.get(n), after.get(n))
        for n in names
        if before.get(n) != after.get(n)
    )
    return Readable(entry, table_name(entry.table), changes)


@cache
def table_name(table: str) -> str:
    """The table's name in words."""
    for model in apps.get_models(include_auto_created=True):
        if model._meta.db_table == table:
            return str(model._meta.verbose_name)
    return table
