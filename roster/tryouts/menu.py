"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add
from roster.tryouts.rules import is_candidate

add(Entry(Area.PEOPLE, 3, "Tryouts", "tryouts", "tryouts", rules.staff))
add(Entry(Area.OWN, 1, "My tryout", "my-tryout", "my-tryout", is_candidate))
add(Entry(Area.OWN, 3, "Tryout marks", "marking", "marking", rules.evaluator, kept=True))
