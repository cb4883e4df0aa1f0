"""What later rooms know of a performance that is confirmed."""

from __future__ import annotations

from typing import Any

from bandops.lib.ties import Tie
from drill.events.models import Event

CHANGES_OF_THE_DAY: Tie[[Event], list[tuple[Any, list[str]]]] = Tie()
"""what changed after the call: each change with its sentences"""
