"""The tables that go out; each room registers its own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.web.rules import Rule, staff

Rows = list[Sequence[object]]


@dataclass(frozen=True)
class Export:
    """A table by name, made for a season; ``order`` is its line on the page. Looking at what
    ``private`` names of ``table`` is noted in the audit. ``allowed`` are those who take it out;
    ``by_name`` makes it for those of them who see no numbers and addresses of persons."""

    name: str
    title: str
    rows: Callable[[Any], tuple[Sequence[str], Rows]]
    order: int
    private: str = ""
    table: str = ""
    allowed: Rule = staff
    by_name: Callable[[Any], tuple[Sequence[str], Rows]] | None = None

    def rows_for(self, viewer: Viewer) -> tuple[Sequence[str], Rows]:
        """Headers and rows, as the viewer may see them."""
        make = self.rows if viewer.is_staff else self.by_name or self.rows
        return make(viewer.this_season)


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
