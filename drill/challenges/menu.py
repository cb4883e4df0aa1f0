"""Entries of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Entry, add

add(Entry(8, "Challenges", "challenges", "challenges", rules.staff))
add(Entry(14, "Marks", "marks", "marks", rules.evaluator))
