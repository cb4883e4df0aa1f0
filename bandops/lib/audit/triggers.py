"""Database triggers that write the audit, so that bulk writes and plain SQL cannot miss it."""

from __future__ import annotations

import sqlite3
from typing import Any

from django.apps import AppConfig
from django.db import connections, models
from django.db.backends.base.base import BaseDatabaseWrapper

from bandops.lib.audit.recording import current
from bandops.lib.rooms import apps_with_tables

AUDIT_TABLE = "lib_auditentry"
COLUMNS = 'at, actor_id, actor_label, action, batch, "table", row_id, op, "before", "after"'

POSTGRES_WRITE = f"""
CREATE OR REPLACE FUNCTION bandops_write_audit() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE
  hidden text[] := TG_ARGV[0]::text[];
  old_row jsonb; new_row jsonb; id text;
BEGIN
  IF TG_OP <> 'INSERT' THEN old_row := to_jsonb(OLD) - hidden; id := to_jsonb(OLD)->>TG_ARGV[1];
  END IF;
  IF TG_OP <> 'DELETE' THEN new_row := to_jsonb(NEW) - hidden; id := to_jsonb(NEW)->>TG_ARGV[1];
  END IF;
  IF TG_OP = 'UPDATE' AND old_row = new_row THEN RETURN NULL; END IF;
  INSERT INTO {AUDIT_TABLE} ({COLUMNS}) VALUES (
    clock_timestamp(),
    NULLIF(current_setting('bandops.actor_id', true), '')::bigint,
    COALESCE(current_setting('bandops.actor_label', true), ''),
    COALESCE(current_setting('bandops.action', true), ''),
    COALESCE(current_setting('bandops.batch', true), ''),
    TG_TABLE_NAME, id, lower(TG_OP), old_row, new_row);
  RETURN NULL;
END $$;
CREATE OR REPLACE FUNCTION bandops_guard_audit() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF COALESCE(current_setting('bandops.unlocked', true), '') = '1' THEN
    IF TG_OP = 'DELETE' THEN RETURN OLD; END IF;
    RETURN NEW;
  END IF;
  RAISE EXCEPTION 'the audit is append-only' USING ERRCODE = 'integrity_constraint_violation';
END $$;
"""  # noqa: S608 (names of our own, no input)


def teach_sqlite(connection: BaseDatabaseWrapper, **_: Any) -> None:
    """Give a new SQLite connection the function its triggers call."""
    if connection.vendor == "sqlite":
        raw: sqlite3.Connection = connection.connection
        raw.create_function("bandops_writing", 1, lambda name: getattr(current(), name))


def audited_models() -> list[type[models.Model]]:
    """Every table of ours but those that say ``audited = False``; link tables included."""
    found: list[type[models.Model]] = []
    for config in apps_with_tables():
        for model in config.get_models(include_auto_created=True):
            if getattr(model, "audited", True):
                found.append(model)
    return found


def before_migrate(app_config: AppConfig, using: str, **_: Any) -> None:
    """Take SQLite's triggers off: altering a table there rebuilds it."""
    connection = connections[using]
    if app_config.label == "lib" and connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("SELECT name FROM sqlite_master WHERE type='trigger'")
            for (name,) in cursor.fetchall():
                if name.startswith("audit_"):
                    cursor.execute(f'DROP TRIGGER "{name}"')


def after_migrate(app_config: AppConfig, using: str, **_: Any) -> None:
    """Put triggers on every audited table that exists, once the last app has migrated."""
    if app_config.label != apps_with_tables()[-1].label:
        return
    connection = connections[using]
    tables = set(connection.introspection.table_names())
    if AUDIT_TABLE not in tables:
        return
    present = [m for m in audited_models() if m._meta.db_table in tables]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute(POSTGRES_WRITE)
        make = _postgres_triggers if connection.vendor == "postgresql" else _sqlite_triggers
        for model in present:
            for statement in make(model):
                cursor.execute(statement)
        guard = _postgres_guard() if connection.vendor == "postgresql" else _sqlite_guard()
        for statement in guard:
            cursor.execute(statement)


def _hidden(model: type[models.Model]) -> tuple[str, ...]:
    return tuple(getattr(model, "audit_hidden", ()))


def _postgres_triggers(model: type[models.Model]) -> list[str]:
    table, key = model._meta.db_table, model._meta.pk.column
    hidden = "{" + ",".join(_hidden(model)) + "}"
    return [
        f'DROP TRIGGER IF EXISTS audit_write ON "{table}"',
        f'CREATE TRIGGER audit_write AFTER INSERT OR UPDATE OR DELETE ON "{table}" '
        f"FOR EACH ROW EXECUTE FUNCTION bandops_write_audit('{hidden}', '{key}')",
    ]


def _postgres_guard() -> list[str]:
    return [
        f"DROP TRIGGER IF EXISTS audit_guard ON {AUDIT_TABLE}",
        f"DROP TRIGGER IF EXISTS audit_guard_all ON {AUDIT_TABLE}",
        f"CREATE TRIGGER audit_guard_all BEFORE TRUNCATE ON {AUDIT_TABLE} "
        "FOR EACH STATEMENT EXECUTE FUNCTION bandops_guard_audit()",
        f"CREATE TRIGGER audit_guard BEFORE UPDATE OR DELETE ON {AUDIT_TABLE} "
        "FOR EACH ROW EXECUTE FUNCTION bandops_guard_audit()",
    ]


def _sqlite_triggers(model: type[models.Model]) -> list[str]:
    table, key = model._meta.db_table, model._meta.pk.column
    columns = [f.column for f in model._meta.concrete_fields if f.column not in _hidden(model)]
    changed = " OR ".join(f'OLD."{c}" IS NOT NEW."{c}"' for c in columns)

    def row(side: str) -> str:
        return "json_object(" + ", ".join(f"'{c}', {side}.\"{c}\"" for c in columns) + ")"

    def write(op: str, side: str, before: str, after: str) -> str:
        return (
            f"INSERT INTO {AUDIT_TABLE} ({COLUMNS}) VALUES ("  # noqa: S608 (names of our own)
            "strftime('%Y-%m-%d %H:%M:%f', 'now'), NULLIF(bandops_writing('actor_id'), ''), "
            "bandops_writing('actor_label'), bandops_writing('action'), "
            f"bandops_writing('batch'), '{table}', {side}.\"{key}\", '{op}', {before}, {after});"
        )

    bodies = {
        "insert": write("insert", "NEW", "NULL", row("NEW")),
        "update": write("update", "NEW", row("OLD"), row("NEW")),
        "delete": write("delete", "OLD", row("OLD"), "NULL"),
    }
    statements = []
    for op, body in bodies.items():
        name = f"audit_{table}_{op}"
        when = f"WHEN {changed} " if op == "update" else ""
        statements += [
            f'DROP TRIGGER IF EXISTS "{name}"',
            f'CREATE TRIGGER "{name}" AFTER {op.upper()} ON "{table}" {when}BEGIN {body} END',
        ]
    return statements


def _sqlite_guard() -> list[str]:
    statements = []
    for op in ("UPDATE", "DELETE"):
        name = f"audit_guard_{op.lower()}"
        statements += [
            f"DROP TRIGGER IF EXISTS {name}",
            f"CREATE TRIGGER {name} BEFORE {op} ON {AUDIT_TABLE} "
            "WHEN bandops_writing('unlocked') <> '1' "
            "BEGIN SELECT RAISE(ABORT, 'the audit is append-only'); END",
        ]
    return statements
