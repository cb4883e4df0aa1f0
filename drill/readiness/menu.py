"""Tabs of the menu."""

from __future__ import annotations

from bandops.lib.web.menu import Area, Entry, add
from drill.readiness.rules import sees_readiness

add(Entry(Area.WEEK, 6, "Ready?", "readiness-next", "readiness", sees_readiness))
