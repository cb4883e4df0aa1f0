"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add

add(Entry(Area.DRILL, 2, "Fundamentals", "fundamentals", "fundamentals", rules.staff))
add(Entry(Area.DRILL, 3, "Sequences", "sequences", "sequences", rules.staff))
