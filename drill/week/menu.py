"""Entries of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Entry, add

add(Entry(1, "This week", "week", "week", rules.staff, kept=True))
