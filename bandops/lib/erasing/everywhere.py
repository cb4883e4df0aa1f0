"""Going through all tables."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import Any

from django.apps import apps
from django.contrib.sessions.models import Session
from django.db import models
from django.db.models import Q
from django.db.models.functions import Cast

from bandops.lib.audit.models import AuditEntry
from bandops.lib.erasing.texts import Scrub

Model = type[models.Model]
LEFT_ALONE: tuple[Model, ...] = (Session,)
"""signed and packed: a session that is over goes by itself"""
HELD = (models.CharField, models.TextField, models.JSONField)


def scrub_tables(scrub: Scrub) -> Counter[str]:
    """Replace the texts in every table, the audit last, since what is changed here is noted there
    as it was; how many rows of each table changed. Inside an action with the audit unlocked."""
    done: Counter[str] = Counter()
    tables = [m for m in apps.get_models(include_auto_created=True) if m not in LEFT_ALONE]
    for model in sorted(tables, key=lambda model: model is AuditEntry):
        if count := _scrub_table(model, scrub):
            done[model._meta.db_table] = count
    return done


def _scrub_table(model: Model, scrub: Scrub) -> int:
    fields = [f for f in model._meta.concrete_fields if _holds_text(f)]
    changed = 0
    for row in list(_suspects(model, fields, scrub)):
        new = {f.attname: scrub.value(getattr(row, f.attname)) for f in fields}
        new = {name: value for name, value in new.items() if value != getattr(row, name)}
        if new:
            model._base_manager.filter(pk=row.pk).update(**new)
            changed += 1
    return changed


def _holds_text(field: models.Field[Any, Any]) -> bool:
    return isinstance(field, HELD) and not field.primary_key and not field.choices


def _suspects(
    model: Model, fields: list[models.Field[Any, Any]], scrub: Scrub
) -> Iterator[models.Model]:
    """The rows that hold one of the texts anywhere; the database finds them."""
    if not fields:
        return
    rows = model._base_manager.all()
    wanted = Q()
    for number, field in enumerate(fields):
        name = field.attname
        if isinstance(field, models.JSONField):
            name = f"text_{number}"
            rows = rows.annotate(**{name: Cast(field.attname, models.TextField())})
        for text in scrub.spellings():
            wanted |= Q(**{f"{name}__icontains": text})
    yield from rows.filter(wanted)


def blank_entries(rows: Iterable[models.Model], columns: Iterable[str], instead: str) -> None:
    """What the audit says of some columns of these rows. Inside an action with it unlocked."""
    gone = set(columns)
    for row in rows:
        kept = AuditEntry.objects.filter(table=row._meta.db_table, row_id=str(row.pk))
        for entry in kept:
            for side in (entry.before, entry.after):
                for column in gone & set(side or {}):
                    if side and side[column]:
                        side[column] = instead
            entry.save()
