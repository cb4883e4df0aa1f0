"""The tables that go out; each room registers its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

Rows = list[Sequence[object]]


@dataclass(frozen=True)
class Export:
    """A table by name, made for a season; ``order`` is its line on the page. Looking at what
    ``private`` names of ``table`` is noted in the audit."""

    name: str
    title: str
    rows: Callable[[Any], tuple[Sequence[str], Rows]]
    order: int
    private: str = ""
    table: str = ""


_exports: dict[str, Export] = {}


def add_export(export: Export) -> None:
    """Make a table known to the export page."""
    _exports[export.name] = export


def all_exports() -> list[Export]:
    """All tables in their order."""
    return sorted(_exports.values(), key=lambda export: export.order)


def export_of(name: str) -> Export | None:
    """The table, or None."""
    return _exports.get(name)


def yes_no(value: bool) -> str:
    """As the import reads it."""
    return "yes" if value else "no"
