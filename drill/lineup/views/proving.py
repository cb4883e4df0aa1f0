"""What the solver is proving, asked by a page that waits for it."""

from __future__ import annotations

from django.http import HttpRequest, JsonResponse

from bandops.lib.web import rules
from bandops.lib.web.pages import page
from drill.events.posted import event_of
from drill.lineup.services.proving import proving as level_of
from drill.lineup.wording import PROVING
from roster.people.viewer import Viewer

MENU = "lineup"


@page(rules.staff, MENU)
def proving(request: HttpRequest, viewer: Viewer, pk: int) -> JsonResponse:
    """In words, or nothing where the solver rests."""
    level = level_of(event_of(viewer, pk).pk)
    return JsonResponse({"said": PROVING[level] if level else ""})
