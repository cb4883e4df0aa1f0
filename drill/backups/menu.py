"""Entries of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Entry, add

add(Entry(3, "Backups", "backups", "backups", rules.staff, kept=True))
