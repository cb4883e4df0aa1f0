"""Migrations run while the pages of before still answer: they only add."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

import pytest
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations import (
    AddConstraint,
    AddField,
    AddIndex,
    AlterModelManagers,
    AlterModelOptions,
    CreateModel,
    RunPython,
)
from django.db.migrations.operations.base import Operation
from django.db.models import NOT_PROVIDED

from bandops.lib.rooms import apps_with_tables
from tests.upgrades import kept

HARMLESS = (AddConstraint, AddIndex, AlterModelManagers, AlterModelOptions, CreateModel, RunPython)
BEFORE_THE_RULE = {
    "backups.0002",
    "events.0002",
    "events.0003",
    "gameday.0002",
    "lib.0002",
    "lib.0003",
    "lib.0004",
    "lineup.0002",
    "people.0002",
    "people.0005",
    "people.0007",
    "people.0008",
    "ranks.0002",
    "ranks.0003",
    "ranks.0004",
    "rehearsals.0002",
}
"""younger than 0.2.0 and older than this rule: the update from 0.2.0 needs a stop"""


def younger() -> Iterator[tuple[str, str, Sequence[Operation]]]:
    """App, name and operations of what was added since the last release."""
    released: dict[str, str] = json.loads(kept.releases()[-1].read_text())["migrations"]
    own = {config.label for config in apps_with_tables()}
    for (app, name), migration in sorted(MigrationLoader(None).disk_migrations.items()):
        if app in own and name > released.get(app, ""):
            yield app, name, migration.operations


def takes_away(operation: Operation) -> bool:
    """True where code of before, that still runs, would fail on what is left."""
    if isinstance(operation, AddField):
        has_default = operation.field.db_default is not NOT_PROVIDED
        return not (operation.field.null or operation.field.many_to_many or has_default)
    return not isinstance(operation, HARMLESS)


@pytest.mark.source("common practice, no source: expand, then contract in a later release")
def test_migrations_only_add() -> None:
    wrong = {}
    new: set[tuple[str, str]] = set()
    for app, name, operations in younger():
        new |= {(app, o.name_lower) for o in operations if isinstance(o, CreateModel)}
        old = [o for o in operations if (app, getattr(o, "model_name_lower", "")) not in new]
        if found := [type(o).__name__ for o in old if takes_away(o)]:
            wrong[f"{app}.{name[:4]}"] = found
    assert set(wrong) == BEFORE_THE_RULE, wrong
