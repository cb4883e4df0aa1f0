"""Who may open a page, by roles alone; rooms add their own rules."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from bandops.lib.accounts.viewer import Viewer

Rule = Callable[[Any], bool]


def anyone(viewer: Viewer) -> bool:
    """Visitors too."""
    return True


def signed_in(viewer: Viewer) -> bool:
    return viewer.user is not None


def belongs(viewer: Viewer) -> bool:
    """Anybody with a role or a membership in the season."""
    return viewer.belongs


def staff(viewer: Viewer) -> bool:
    return viewer.is_staff


def takes_back(viewer: Viewer) -> bool:
    """Staff, and the equipment manager what is of the store."""
    return viewer.is_staff or viewer.is_equipment_manager


def director(viewer: Viewer) -> bool:
    return viewer.is_director


def member(viewer: Viewer) -> bool:
    return viewer.is_member


def evaluator(viewer: Viewer) -> bool:
    return viewer.is_evaluator


def evaluates(viewer: Viewer) -> bool:
    """Evaluators, and staff who may evaluate, too."""
    return viewer.is_evaluator or viewer.is_staff


def rank_leader(viewer: Viewer) -> bool:
    return viewer.is_rank_leader


def knows_names(viewer: Viewer) -> bool:
    """Staff, equipment managers and members; evaluators know numbers only."""
    return viewer.is_staff or viewer.is_equipment_manager or viewer.is_member
