"""What rows, tables and columns of the audit are called."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from django.apps import apps
from django.db import models

from bandops.lib.audit.models import AuditEntry

Model = type[models.Model]
Key = tuple[str, str]
"""a table and the number of a row"""
GONE = "(removed)"


@dataclass(frozen=True)
class Names:
    """What the rows of some entries, and those they point to, are called: a query a table."""

    found: Mapping[Key, str]

    def row(self, entry: AuditEntry) -> str:
        """The entry's own row; one that is no more by what it was called."""
        known = self.found.get((entry.table, entry.row_id))
        if known is not None:
            return known
        row = entry.before or entry.after or {}
        model = model_of(entry.table)
        if model is not None and model._meta.auto_created:
            return self._joined(model, row)
        return str(next((row[key] for key in ("name", "label", "code") if row.get(key)), ""))

    def _joined(self, model: Model, row: Mapping[str, Any]) -> str:
        """A row of a table that only joins two others."""
        both = [f for f in model._meta.fields if isinstance(f, models.ForeignKey)]
        return ", ".join(self.value(model, f.column, row) for f in both)

    def value(self, model: Model | None, column: str, row: Mapping[str, Any]) -> str:
        """What a column that points to a row, or has a choice of words, says; nothing for others
        and where it is empty. One database keeps yes and no as figures."""
        raw, field = row.get(column), field_of(model, column)
        if raw in (None, "") or field is None:
            return ""
        if isinstance(field, models.ForeignKey):
            return self.found.get((field.related_model._meta.db_table, str(raw)), GONE)
        if isinstance(field, models.BooleanField):
            return "yes" if raw else "no"
        return str(dict(field.flatchoices).get(raw, "")) if field.choices else ""


def names_of(entries: Iterable[AuditEntry]) -> Names:
    """The names of all rows that the entries are of, or point to."""
    wanted: dict[str, set[str]] = defaultdict(set)
    for entry in entries:
        wanted[entry.table].add(entry.row_id)
        for column, table in _pointers(entry.table).items():
            for row in (entry.before or {}, entry.after or {}):
                if row.get(column) is not None:
                    wanted[table].add(str(row[column]))
    found: dict[Key, str] = {}
    for table, ids in wanted.items():
        model = model_of(table)
        if model is None or model._meta.auto_created:
            continue
        direct = [f.name for f in model._meta.fields if isinstance(f, models.ForeignKey)]
        numbers = [pk for pk in ids if pk.isdigit()]
        rows = model._base_manager.filter(pk__in=numbers)
        for row in rows.select_related(*direct, *_deeper(model)):
            found[table, str(row.pk)] = str(row)
    return Names(found)


@cache
def _pointers(table: str) -> dict[str, str]:
    """Column -> the table it points to."""
    model = model_of(table)
    fields = model._meta.fields if model is not None else ()
    keys = [f for f in fields if isinstance(f, models.ForeignKey)]
    return {f.column: f.related_model._meta.db_table for f in keys}


def _deeper(model: Model) -> list[str]:
    """Relations that the names of related rows need: a member's person, a spot's rank."""
    return [
        f"{field.name}__{read}"
        for field in model._meta.fields
        if isinstance(field, models.ForeignKey)
        for read in getattr(field.related_model, "audit_reads", ())
    ]


@cache
def columns_marked(mark: str) -> frozenset[tuple[str, str]]:
    """The columns, each with its table, that models name under ``audit_private`` (read with their
    values left out) or ``audit_noted`` (read with their values, each reading noted)."""
    return frozenset(
        (model._meta.db_table, name)
        for model in apps.get_models()
        for name in getattr(model, mark, ())
    )


@cache
def table_name(table: str) -> str:
    """The table's name in words."""
    model = model_of(table)
    if model is None:
        return table
    if model._meta.auto_created:
        first, second = (f for f in model._meta.fields if isinstance(f, models.ForeignKey))
        return " and ".join(table_name(f.related_model._meta.db_table) for f in (first, second))
    return str(getattr(model, "audit_called", model._meta.verbose_name))


@cache
def column_name(table: str, column: str) -> str:
    """The column's name in words."""
    field = field_of(model_of(table), column)
    return str(field.verbose_name) if field is not None else column.replace("_", " ")


@cache
def tells(table: str, column: str) -> bool:
    """Whether a column says something to people: not what the program keeps for itself."""
    field = field_of(model_of(table), column)
    if field is None or not field.editable:
        return False
    return not isinstance(field, models.JSONField) and not column.endswith("_hash")


def field_of(model: Model | None, column: str) -> models.Field[Any, Any] | None:
    fields = model._meta.concrete_fields if model is not None else ()
    return next((field for field in fields if field.column == column), None)


@cache
def model_of(table: str) -> Model | None:
    for model in apps.get_models(include_auto_created=True):
        if model._meta.db_table == table:
            return model
    return None


def model_known(table: str) -> Model:
    """The model of a table that certainly has one."""
    model = model_of(table)
    if model is None:
        raise LookupError(f"no model has the table {table}")
    return model


@cache
def tables_pointing_to(table: str) -> Mapping[str, frozenset[str]]:
    """Column -> the audited tables in which it points to rows of this one."""
    found: dict[str, set[str]] = defaultdict(set)
    for model in apps.get_models(include_auto_created=True):
        if not getattr(model, "audited", True):
            continue
        for column, pointed in _pointers(model._meta.db_table).items():
            if pointed == table:
                found[column].add(model._meta.db_table)
    return {column: frozenset(tables) for column, tables in found.items()}
