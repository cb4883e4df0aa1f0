"""Who may do what with the roster; pages and API ask the same functions."""

from __future__ import annotations

from collections.abc import Callable

from roster.models import Member
from roster.viewer import Viewer

Rule = Callable[[Viewer], bool]


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


def director(viewer: Viewer) -> bool:
    return viewer.is_director


def member(viewer: Viewer) -> bool:
    return viewer.is_member


def evaluator(viewer: Viewer) -> bool:
    return viewer.is_evaluator


def rank_leader(viewer: Viewer) -> bool:
    return viewer.is_rank_leader


def may_see_contact(viewer: Viewer, member: Member, rank_id: int | None) -> bool:
    """Phone and e-mail: staff, the member, and their rank leader unless they opted out."""
    if viewer.is_staff or viewer.member == member:
        return True
    return viewer.leads(rank_id) and member.person.share_contact


def names_and_sizes(viewer: Viewer) -> bool:
    """Staff and the gear manager."""
    return viewer.is_staff or viewer.is_gear_manager
