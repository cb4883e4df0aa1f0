"""Tabs of the menu; rank leaders come from the page of their rank."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add
from roster.equipment.rules import keeps_equipment
from roster.people.viewer import Viewer


def keeps_without_staff(viewer: Viewer) -> bool:
    """The equipment manager, whose menu has no week."""
    return keeps_equipment(viewer) and not viewer.is_staff


add(Entry(Area.WEEK, 6, "Ready?", "readiness-next", "readiness", rules.staff))
add(Entry(Area.OWN, 8, "Ready?", "readiness-next", "readiness", keeps_without_staff))
