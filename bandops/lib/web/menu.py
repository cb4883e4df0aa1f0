"""The menu: each room registers its entries, and who sees them."""

from __future__ import annotations

from dataclasses import dataclass

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.web.rules import Rule


@dataclass(frozen=True)
class Entry:
    """A line of the menu. ``word`` is what pages that belong to it name; a ``kept`` page is
    fetched ahead, for the field."""

    order: int
    title: str
    address: str
    word: str
    shown: Rule
    kept: bool = False


_entries: list[Entry] = []


def add(entry: Entry) -> None:
    """Make an entry known."""
    _entries.append(entry)


def entries_for(viewer: Viewer) -> list[Entry]:
    """What a viewer finds in the menu, in order."""
    shown = [entry for entry in _entries if entry.shown(viewer)]
    return sorted(shown, key=lambda entry: entry.order)
