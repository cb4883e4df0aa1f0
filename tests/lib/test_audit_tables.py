"""The audit: every table writes an entry for every change."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.core.management import call_command
from django.db import connection, models

from bandops.lib.audit.triggers import audited_models
from bandops.lib.rooms import apps_with_tables
from tests.lib.audit_help import after, before, entries

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("triggers, JSON and the append-only guard are written for each"),
]


def test_every_table_but_a_named_few_is_audited() -> None:
    every = {m for config in apps_with_tables() for m in config.get_models(True)}
    left_out = {m._meta.label for m in every - set(audited_models())}
    assert all(label.startswith("lib.") for label in left_out), left_out
    assert {"lib.AuditEntry", "lib.ImportUpload"} <= left_out
    assert "lib.User" not in left_out
    assert "events.Event_must_travel" in {m._meta.label for m in audited_models()}


def triggers() -> set[tuple[str, str]]:
    """(table, operation) of every trigger that writes the audit."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'")
            return {(t, name.rsplit("_", 1)[1].upper()) for t, name in cursor.fetchall()}
        cursor.execute(
            "SELECT event_object_table, event_manipulation FROM information_schema.triggers "
            "WHERE trigger_name IN ('audit_write', 'audit_guard')"
        )
        return set(cursor.fetchall())


def expected_triggers() -> set[tuple[str, str]]:
    tables = {m._meta.db_table for m in audited_models()}
    written = {(t, op) for t in tables for op in ("INSERT", "UPDATE", "DELETE")}
    return written | {("lib_auditentry", "UPDATE"), ("lib_auditentry", "DELETE")}


def test_every_audited_table_has_its_triggers() -> None:
    assert expected_triggers() <= triggers()


@pytest.mark.django_db(transaction=True)
def test_migrating_leaves_the_triggers_in_place() -> None:
    call_command("migrate", verbosity=0)
    assert expected_triggers() <= triggers()
    call_command("migrate", "people", verbosity=0)
    assert expected_triggers() <= triggers()


def test_no_audited_column_is_one_that_an_entry_cannot_hold() -> None:
    for model in audited_models():
        kinds = {type(f) for f in model._meta.concrete_fields}
        assert models.BinaryField not in kinds, model


NOBODY = 999_999
DAY = datetime.date(2099, 1, 1)
LATER: dict[str, dict[str, Any]] = {
    "people_season": {"ends": datetime.date(2099, 2, 1)},
    "events_segment": {"ends": datetime.time(13)},
    "absences_absence": {"from_date": DAY},
    "rehearsals_rehearsalblock": {"ends": datetime.time(13)},
    "lineup_lineuprow": {"member_id": NOBODY},
    "field_customfield": {"front_hash": 2_000, "back_hash": 4_000},
    "challenges_challengeround": {"closes_at": datetime.datetime(2099, 1, 2, tzinfo=datetime.UTC)}
    | {"held_at": datetime.datetime(2099, 1, 3, tzinfo=datetime.UTC)},
    "challenges_challenge": {"challenger_id": NOBODY - 2},
    "record_recordentry": {"spot_id": NOBODY},
    "people_deputy": {"named_by_id": NOBODY - 2},
    "people_differentpeople": {"second_id": NOBODY + 1},
    "tryouts_offer": {"part_id": NOBODY},
    "tryouts_keepapart": {"second_id": NOBODY + 1},
    "equipment_band": {"high": 2},
    "equipment_itemfigure": {"ticks": 1},
    "outfits_worn": {"event_id": NOBODY},
}
"""what the tables' own constraints want beside the least"""


LEAST: tuple[tuple[type[models.Field[Any, Any]], Any, Any], ...] = (
    (models.ForeignKey, NOBODY, NOBODY - 1),
    (models.UUIDField, "0" * 32, "1" * 32),
    (models.DateTimeField, datetime.datetime(2099, 1, 1, tzinfo=datetime.UTC), None),
    (models.DateField, DAY, None),
    (models.TimeField, datetime.time(12), None),
    (models.JSONField, {}, None),
    (models.CharField, "x", "y"),
    (models.TextField, "x", "y"),
    (models.DecimalField, 1, None),
    (models.BooleanField, False, True),
    (models.IntegerField, 1, 2),
)
"""field, a value, and another that nothing constrains"""


def least_row(model: type[models.Model]) -> models.Model:
    """A row that refers to nothing; it must be gone before the references are checked."""
    values: dict[str, Any] = {}
    for field in model._meta.concrete_fields:
        if field.primary_key:
            values[field.attname] = NOBODY
        elif not field.has_default() and not field.null:
            value = next(value for kind, value, _ in LEAST if isinstance(field, kind))
            values[field.attname] = field.choices[0][0] if field.choices else value
    return model(**values | LATER.get(model._meta.db_table, {}))


def column_of(field: models.Field[Any, Any]) -> str:
    assert field.column is not None
    return field.column


def free_field(model: type[models.Model]) -> tuple[models.Field[Any, Any], Any]:
    """A column that may take another value without more ado, and the value."""
    hidden = getattr(model, "audit_hidden", ())
    for field in model._meta.concrete_fields:
        if not field.primary_key and not field.choices and field.column not in hidden:
            other = next((o for kind, _, o in LEAST if isinstance(field, kind)), None)
            if other is not None:
                return field, other
    raise AssertionError(model)


@pytest.mark.parametrize("way", ["queries", "plain SQL"])
@pytest.mark.parametrize("model", audited_models(), ids=lambda m: m._meta.db_table)
def test_each_table_writes_an_entry_for_each_change(model: type[models.Model], way: str) -> None:
    table, key = model._meta.db_table, column_of(model._meta.pk)
    columns = {column_of(f) for f in model._meta.concrete_fields}
    columns -= set(getattr(model, "audit_hidden", ()))
    model._base_manager.bulk_create([least_row(model)])
    row = model._base_manager.filter(pk=NOBODY)
    field, value = free_field(model)
    if way == "queries":
        assert row.update(**{field.attname: value}) == 1
        row._raw_delete(row.db)
    else:
        quote = connection.ops.quote_name
        with connection.cursor() as cursor:
            where = f"WHERE {quote(key)} = {NOBODY}"
            cursor.execute(
                f"UPDATE {quote(table)} SET {quote(column_of(field))} = %s {where}", [value]
            )
            cursor.execute(f"DELETE FROM {quote(table)} {where}")
    found = entries(table, row_id=str(NOBODY))
    assert [e.op for e in found] == ["insert", "update", "delete"]
    inserted, updated, deleted = found
    assert set(after(inserted)) == set(before(deleted)) == columns
    assert inserted.before is None
    assert deleted.after is None
    assert updated.before == inserted.after
    assert updated.after == deleted.before
    assert {c for c in columns if before(updated)[c] != after(updated)[c]} == {field.column}
