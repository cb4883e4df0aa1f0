"""A published lineup's rows never change: database triggers refuse it, whoever asks."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

ROWS, LINEUPS = "lineup_lineuprow", "lineup_lineup"
OPERATIONS = {"INSERT": "NEW", "UPDATE": "OLD", "DELETE": "OLD"}
REFUSAL = "a published lineup never changes"

POSTGRES = f"""
CREATE OR REPLACE FUNCTION lineup_keep_published() RETURNS trigger LANGUAGE plpgsql AS $$
DECLARE lineup bigint := COALESCE(OLD.lineup_id, NEW.lineup_id);
BEGIN
  IF COALESCE(current_setting('bandops.unlocked', true), '') <> '1'
     AND EXISTS (SELECT 1 FROM {LINEUPS} WHERE id = lineup AND state = 'published') THEN
    RAISE EXCEPTION '{REFUSAL}' USING ERRCODE = 'integrity_constraint_violation';
  END IF;
  RETURN COALESCE(NEW, OLD);
END $$;
DROP TRIGGER IF EXISTS frozen_rows ON {ROWS};
CREATE TRIGGER frozen_rows BEFORE INSERT OR UPDATE OR DELETE ON {ROWS}
  FOR EACH ROW EXECUTE FUNCTION lineup_keep_published();
"""  # noqa: S608 (names of our own, no input)


def before_migrate(app_config: AppConfig, using: str, **_: Any) -> None:
    """SQLite rebuilds a table to alter it, which must not meet the triggers."""
    connection = connections[using]
    if app_config.label == "lineup" and connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            for operation in OPERATIONS:
                cursor.execute(f"DROP TRIGGER IF EXISTS frozen_rows_{operation.lower()}")


def after_migrate(app_config: AppConfig, using: str, **_: Any) -> None:
    """Put the triggers on, once the table exists."""
    connection = connections[using]
    if app_config.label != "lineup" or ROWS not in connection.introspection.table_names():
        return
    with connection.cursor() as cursor:
        for statement in _statements(connection):
            cursor.execute(statement)


def _statements(connection: BaseDatabaseWrapper) -> list[str]:
    if connection.vendor == "postgresql":
        return [POSTGRES]
    statements = []
    for operation, side in OPERATIONS.items():
        name = f"frozen_rows_{operation.lower()}"
        published = f"SELECT state FROM {LINEUPS} WHERE id = {side}.lineup_id"  # noqa: S608
        statements += [
            f"DROP TRIGGER IF EXISTS {name}",
            f"CREATE TRIGGER {name} BEFORE {operation} ON {ROWS} "
            f"WHEN ({published}) = 'published' AND bandops_writing('unlocked') <> '1' "
            f"BEGIN SELECT RAISE(ABORT, '{REFUSAL}'); END",
        ]
    return statements
