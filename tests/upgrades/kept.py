"""A database as a released version left it: its migrations and its rows."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from django.apps import apps as django_apps
from django.core.management import call_command
from django.core.management.color import no_style
from django.core.serializers.json import DjangoJSONEncoder
from django.db import connection, models, transaction
from django.db.migrations.executor import MigrationExecutor

from bandops.env import ROOT
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import unlocked
from bandops.lib.audit.triggers import before_migrate
from bandops.lib.rooms import apps_with_tables

FOLDER = Path(__file__).parent
AUDIT = AuditEntry._meta.db_table
"""not kept: what it says of a version's rows is no matter of upgrading"""

Kept = dict[str, Any]


def keep(version: str) -> Path:
    """Write the database that is connected as that of a version."""
    path = FOLDER / f"{version}.json"
    kept = {"migrations": leaves(), "files": hashes(), "rows": dict(rows())}
    path.write_text(json.dumps(kept, cls=DjangoJSONEncoder, indent=1) + "\n", encoding="utf-8")
    return path


def releases() -> list[Path]:
    """The files of all released versions."""
    return sorted(FOLDER.glob("*.json"))


def read(path: Path) -> Kept:
    kept: Kept = json.loads(path.read_text(encoding="utf-8"))
    return kept


def leaves() -> dict[str, str]:
    """App label -> its last migration."""
    ours = {config.label for config in apps_with_tables()}
    nodes = MigrationExecutor(connection).loader.graph.leaf_nodes()
    return {app: name for app, name in sorted(nodes) if app in ours}


def hashes() -> dict[str, str]:
    """Path of each migration -> hash of its text."""
    return {
        str(path.relative_to(ROOT)): hashlib.sha256(path.read_bytes()).hexdigest()
        for config in apps_with_tables()
        for path in sorted(Path(config.path).glob("migrations/0*.py"))
    }


def rows() -> Iterator[tuple[str, list[dict[str, Any]]]]:
    """Each table of ours that has rows, link tables included."""
    for config in apps_with_tables():
        for model in config.get_models(include_auto_created=True):
            fields = model._meta.concrete_fields
            found = [
                {field.attname: _plain(field, row) for field in fields}
                for row in model._base_manager.order_by("pk")
            ]
            if found and model._meta.db_table != AUDIT:
                yield model._meta.label, found


def _plain(field: models.Field[Any, Any], row: models.Model) -> Any:
    value = field.value_from_object(row)
    return str(value) if isinstance(field, models.FileField) else value


def put_back(kept: Kept) -> None:
    """Bring the database to the version's migrations and its rows."""
    call_command("migrate", "lib", "zero", verbosity=0)
    for app in leaves().keys() - kept["migrations"].keys():
        call_command("migrate", app, "zero", verbosity=0)
    for app, name in kept["migrations"].items():
        call_command("migrate", app, name, verbosity=0)
    # The triggers are those of today's columns, which the version may lack.
    before_migrate(django_apps.get_app_config("lib"), connection.alias)
    state = MigrationExecutor(connection).loader.project_state(list(kept["migrations"].items()))
    with unlocked(), transaction.atomic():
        made = [_fill(state.apps.get_model(label), found) for label, found in kept["rows"].items()]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), made):
            cursor.execute(statement)


def _fill(model: type[models.Model], found: list[dict[str, Any]]) -> type[models.Model]:
    fields = {field.attname: field for field in model._meta.concrete_fields}
    model._base_manager.bulk_create(
        model(**{name: fields[name].to_python(value) for name, value in row.items()})
        for row in found
    )
    return model


def counts() -> dict[str, int]:
    """Label of each model of ours that has rows -> how many."""
    return {label: len(found) for label, found in rows()}
