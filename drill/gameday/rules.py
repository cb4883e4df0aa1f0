"""Who may answer a request for the director's word."""

from __future__ import annotations

from drill.gameday.models import FillRequest
from drill.lineup.rules import may_edit_lineup
from roster.people.viewer import Viewer

ITS_DIRECTOR = "You asked for this yourself: the director approves it."


def asked_it(viewer: Viewer, request: FillRequest) -> bool:
    """Whoever asked withdraws it; nobody else does."""
    return viewer.user is not None and request.asked_by_id == viewer.user.pk


def may_approve(viewer: Viewer, request: FillRequest) -> bool:
    """The director and their deputy; what one asked for oneself, only the director in person."""
    if asked_it(viewer, request):
        return viewer.is_appointed_director
    return may_edit_lineup(viewer, request.event)


def may_decline(viewer: Viewer, request: FillRequest) -> bool:
    """As approving, but of what others asked for."""
    return may_approve(viewer, request) and not asked_it(viewer, request)
