"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add
from roster.people.rules import gives_rights
from roster.people.viewer import Viewer


def only_sizes(viewer: Viewer) -> bool:
    """Equipment managers who are not staff."""
    return viewer.is_equipment_manager and not viewer.is_staff


add(Entry(Area.PEOPLE, 1, "Members", "people", "people", rules.staff))
add(Entry(Area.PEOPLE, 1, "Members", "sizes", "sizes", only_sizes))
add(Entry(Area.SEASON, 1, "Set-up", "set-up", "season", rules.staff))
add(Entry(Area.SEASON, 2, "Import and export", "imports", "imports", rules.staff))
add(Entry(Area.PEOPLE, 6, "Import and export", "imports", "imports", only_sizes))
add(Entry(Area.SEASON, 3, "Roles", "roles", "roles", gives_rights))
add(Entry(Area.SEASON, 4, "History", "history", "history", rules.staff))
