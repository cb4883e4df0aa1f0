"""Who may see what of members."""

from __future__ import annotations

from roster.people.models import Member
from roster.people.viewer import Viewer


def may_see_contact(viewer: Viewer, member: Member, rank_id: int | None) -> bool:
    """Phone and e-mail: staff, the member, and their rank leader unless they opted out."""
    if viewer.is_staff or viewer.member == member:
        return True
    return viewer.leads(rank_id) and member.person.share_contact


def names_and_sizes(viewer: Viewer) -> bool:
    """Staff and the equipment manager."""
    return viewer.is_staff or viewer.is_equipment_manager


def gives_rights(viewer: Viewer) -> bool:
    """The director in person: a deputy gives no roles and names no deputies."""
    return viewer.is_appointed_director
