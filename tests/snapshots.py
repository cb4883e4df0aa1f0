"""What tests commit is taken away again, and a world they commit to is built once a process.

SQLite gives back a copy of the whole database in a hundredth of the time that emptying a hundred
tables takes.
"""

from __future__ import annotations

import copy
import sqlite3
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.color import no_style
from django.db import connection

from bandops.lib.audit.recording import unlocked
from tests.keeping import copied

FILLED_BY_MIGRATION = {"django_content_type", "auth_permission", "django_migrations"}


def can_be_copied() -> bool:
    """Whether the tests' database is one that can be copied whole."""
    return connection.vendor == "sqlite"


def raw() -> sqlite3.Connection:
    """The database itself, below Django."""
    connection.ensure_connection()
    made: sqlite3.Connection = connection.connection
    return made


@dataclass(frozen=True)
class Snapshot:
    """A database as it was, and the files that belonged to it."""

    rows: sqlite3.Connection
    files: Path | None = None

    @classmethod
    def taken(cls, files: Path | None = None) -> Snapshot:
        """What there is now; the files of the site are copied to ``files``."""
        rows = sqlite3.connect(":memory:", check_same_thread=False)
        raw().backup(rows)
        if files is not None:
            copied(Path(settings.MEDIA_ROOT), files)
        return cls(rows, files)

    def put_back(self) -> None:
        """Have exactly this again."""
        self.rows.backup(raw())
        if self.files is not None:
            copied(self.files, Path(settings.MEDIA_ROOT))


def empty_tables() -> None:
    """Remove what a test committed from a database that cannot be copied."""
    names = connection.introspection.django_table_names(only_existing=True, include_views=False)
    tables = sorted(set(names) - FILLED_BY_MIGRATION)
    with unlocked():
        statements = connection.ops.sql_flush(no_style(), tables, reset_sequences=True)
        connection.ops.execute_sql_flush(statements)


def emptier() -> Callable[[], None]:
    """What makes the database as empty as it is now."""
    return Snapshot.taken().put_back if can_be_copied() else empty_tables


class Once:
    """A world that tests commit to: built by the first, put back for the others."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._made: dict[str, tuple[Snapshot, Any]] = {}

    def world(self, name: str, build: Callable[[], Any]) -> Any:
        """The world's objects, each time a copy; the database must be empty."""
        if not can_be_copied():
            return build()
        if name in self._made:
            snapshot, made = self._made[name]
            snapshot.put_back()
        else:
            made = build()
            self._made[name] = Snapshot.taken(self._folder / name), made
        return copy.deepcopy(made)
