"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add

add(Entry(Area.LINEUP, 1, "Who marches", "who-marches", "lineup", rules.staff, kept=True))
