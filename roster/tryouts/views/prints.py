"""Prints of a tryout, made when they are asked for."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse

from bandops.lib.outbox.progress import file_response
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts.models import Tryout, TryoutSession
from roster.tryouts.pdf import render_mark_sheets, render_timetable
from roster.tryouts.views.frame import MENU, tryout_of
from roster.tryouts.views.planning import session_of


@page(rules.staff, MENU)
def tryout_print(request: HttpRequest, viewer: Viewer, pk: int, kind: str) -> HttpResponse:
    """One of the prints, on the season's paper."""
    it = tryout_of(viewer, pk)
    if kind == "mark-sheets":
        made = render_mark_sheets(it, paper=it.season.paper, session=_asked(request, it))
    elif kind == "timetable":
        made = render_timetable(it, paper=it.season.paper)
    else:
        raise Http404
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")


def _asked(request: HttpRequest, tryout: Tryout) -> TryoutSession | None:
    """The session to print alone; ``None`` for all, 404 for one that is not there."""
    asked = request.GET.get("session")
    return None if asked is None else session_of(tryout, whole_number(asked) or 0)
