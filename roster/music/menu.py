"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add
from roster.people.viewer import Viewer


def only_hears(viewer: Viewer) -> bool:
    """Evaluators who are not on the staff; section leaders find it on “My music”."""
    return viewer.is_evaluator and not viewer.is_staff


add(Entry(Area.PEOPLE, 4, "Music", "music", "music", rules.staff))
add(Entry(Area.OWN, 5, "Hear music", "music", "music", only_hears))
add(Entry(Area.OWN, 6, "My music", "my-music", "my-music", rules.member))
