"""What people add to the history: whose actions it shows."""

from __future__ import annotations

from bandops.lib.audit.ties import STAFF_OF
from roster.people.enums import Role
from roster.people.models import RoleGrant
from roster.people.viewer import Viewer


@STAFF_OF.join
def staff_of(viewer: Viewer) -> list[int]:
    """The accounts that are director or staff this season."""
    grants = RoleGrant.objects.filter(season=viewer.season, role__in=(Role.DIRECTOR, Role.STAFF))
    return list(grants.values_list("user_id", flat=True))
