"""Who may do what with absences."""

from __future__ import annotations

from drill.absences.models import Absence
from roster.people.viewer import Viewer


def may_withdraw(viewer: Viewer, absence: Absence) -> bool:
    """Staff any; others what they reported themselves, as long as staff have not decided."""
    if viewer.is_staff:
        return True
    return absence.reported_by_id == viewer.signed_in.pk and absence.state == "reported"
