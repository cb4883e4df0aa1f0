"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add

add(Entry(Area.WEEK, 1, "This week", "week", "week", rules.staff, kept=True))
