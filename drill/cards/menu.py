"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, add

add(Entry(Area.OWN, 1, "My spot", "card", "card", rules.member, kept=True))
add(Entry(Area.OWN, 2, "My rank", "my-rank", "my-rank", rules.rank_leader, kept=True))
