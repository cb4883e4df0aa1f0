"""Who sees how ready an event is."""

from __future__ import annotations

from roster.equipment.rules import keeps_equipment
from roster.people.viewer import Viewer


def sees_readiness(viewer: Viewer) -> bool:
    """Staff and the equipment manager all of it; rank leaders who of their rank lacks what."""
    return keeps_equipment(viewer) or viewer.is_rank_leader
