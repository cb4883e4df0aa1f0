"""What later rooms know of an event at which attendance is taken."""

from __future__ import annotations

from dataclasses import dataclass

from bandops.lib.ties import Tie
from drill.events.models import Event


@dataclass(frozen=True)
class Placed:
    """Where a member marches at a performance: the rank of the first spot, and the spots."""

    rank_id: int
    spots: str


PLACED: Tie[[Event], dict[int, Placed]] = Tie()
"""member id -> where the published lineup puts them"""
