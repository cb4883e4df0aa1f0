"""What later rooms know of an event, and what they do when it is copied or removed."""

from __future__ import annotations

from typing import Any

from bandops.lib.ties import Tie
from drill.events.models import Event
from roster.people.models import Season

EVENT_PAGE: Tie[[Event], dict[str, Any]] = Tie()
"""more to show on an event's page"""
EVENT_LIST: Tie[[Season], dict[int, Any]] = Tie()
"""event id -> the lineup beside it in the list"""
BEFORE_REMOVAL: Tie[[Event], bool] = Tie()
"""refuses, or removes what goes with an event; True when something did"""
COPIED: Tie[[Event, Event], None] = Tie()
"""an event was copied: the old one, the new one"""
