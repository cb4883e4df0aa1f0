"""Entries of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Entry, add

add(Entry(7, "Absences", "absences", "absences", rules.staff))
add(Entry(17, "My absences", "my-absences", "my-absences", rules.member, kept=True))
