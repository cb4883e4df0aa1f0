"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add
from roster.equipment.rules import keeps_equipment

add(Entry(Area.PEOPLE, 5, "Equipment", "equipment", "equipment", keeps_equipment))
add(Entry(Area.OWN, 7, "My items", "my-equipment", "my-equipment", rules.member))
