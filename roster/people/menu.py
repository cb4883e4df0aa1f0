"""Entries of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Entry, add
from roster.people.viewer import Viewer

add(Entry(5, "People and ranks", "people", "people", rules.staff))
add(Entry(11, "Import and export", "imports", "imports", rules.staff))
add(Entry(12, "Season", "set-up", "season", rules.staff))


def only_sizes(viewer: Viewer) -> bool:
    """Equipment managers who are not staff."""
    return viewer.is_equipment_manager and not viewer.is_staff


add(Entry(13, "Members", "sizes", "sizes", only_sizes))
