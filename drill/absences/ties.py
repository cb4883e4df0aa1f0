"""What of an event can be missed, beside its segments."""

from __future__ import annotations

from bandops.lib.ties import Tie
from drill.absences.core.availability import Slot
from drill.events.models import Event

BLOCK_SLOTS: Tie[[Event], list[Slot]] = Tie()
"""the parts of a rehearsal"""
