"""The kinds of imports; each app registers its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Overtaken, Refused
from bandops.lib.imports.models import ImportBatch
from bandops.lib.imports.plan import Column, Mapped, Plan, missing_columns
from bandops.lib.imports.reading import Table

Planner = Callable[[Mapped, Any, User], Plan]


@dataclass(frozen=True)
class ImportKind:
    """One kind: its columns, and how to plan a table for a season by an account."""

    key: str
    title: str
    intro: str
    columns: tuple[Column, ...]
    planner: Planner
    order: int

    def plan(self, table: Table, mapping: dict[str, int], season: Any, actor: User) -> Plan:
        """The plan of a table; only faults when required columns are missing."""
        missing = missing_columns(self.columns, mapping)
        if missing:
            return Plan(faults=missing)
        return self.planner(Mapped(table, self.columns, mapping), season, actor)


_kinds: dict[str, ImportKind] = {}


def register(kind: ImportKind) -> ImportKind:
    """Make a kind known to the import pages."""
    _kinds[kind.key] = kind
    return kind


def all_kinds() -> list[ImportKind]:
    """In the order in which a new band needs them."""
    return sorted(_kinds.values(), key=lambda kind: kind.order)


def kind_of(key: str) -> ImportKind:
    """The kind; KeyError for none."""
    return _kinds[key]


def accept(
    *,
    actor: User,
    kind: ImportKind,
    filename: str,
    table: Table,
    mapping: dict[str, int],
    season: Any,
    digest: str | None = None,
) -> ImportBatch:
    """Carry out a plan, all of it or nothing. ``digest`` is that of the plan that was reviewed."""
    with recorded(actor, f"import {kind.title.lower()}") as batch:
        plan = kind.plan(table, mapping, season, actor)
        if digest is not None and plan.digest != digest:
            raise Overtaken("The data changed since this preview was made: look at it again.")
        if plan.faults:
            raise Refused("Nothing was imported: the file has errors.", _texts(plan))
        for line in plan.lines:
            line.do()
        for step in plan.after:
            step()
        return ImportBatch.objects.create(
            kind=kind.key,
            filename=filename[:200],
            batch=batch,
            added=plan.added,
            changed=plan.changed,
            by=actor,
        )


def _texts(plan: Plan) -> tuple[str, ...]:
    return tuple(f"row {f.row}, {f.column}: {f.message}" for f in plan.faults)
