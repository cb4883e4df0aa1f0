"""Who may do what with uniforms and equipment."""

from __future__ import annotations

from bandops.lib.accounts.viewer import Viewer as AnyViewer
from roster.people.models import Member
from roster.people.viewer import Viewer


def keeps_equipment(viewer: AnyViewer) -> bool:
    """Staff and the equipment manager."""
    return viewer.is_staff or viewer.is_equipment_manager


def sees_charges(viewer: Viewer) -> bool:
    """The equipment manager and the director."""
    return viewer.is_equipment_manager or viewer.is_director


def is_own(viewer: Viewer, member: Member) -> bool:
    return viewer.member == member
