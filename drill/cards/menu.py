"""Entries of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Entry, add

add(Entry(15, "My rank", "my-rank", "my-rank", rules.rank_leader, kept=True))
add(Entry(16, "My spot", "card", "card", rules.member, kept=True))
