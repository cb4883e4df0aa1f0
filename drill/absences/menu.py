"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add

add(Entry(Area.WEEK, 4, "Absences", "absences", "absences", rules.staff))
add(Entry(Area.OWN, 3, "My absences", "my-absences", "my-absences", rules.member, kept=True))
