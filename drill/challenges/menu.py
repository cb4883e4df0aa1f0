"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add

add(Entry(Area.WEEK, 5, "Challenges", "challenges", "challenges", rules.staff))
add(Entry(Area.OWN, 4, "Marks", "marks", "marks", rules.evaluator))
