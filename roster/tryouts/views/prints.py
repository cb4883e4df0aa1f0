"""Prints of a tryout, made when they are asked for."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse

from bandops.lib.outbox.progress import file_response
from bandops.lib.web import rules
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts.pdf import render_mark_sheets, render_timetable
from roster.tryouts.views.frame import MENU, tryout_of

KINDS = {"mark-sheets": render_mark_sheets, "timetable": render_timetable}


@page(rules.staff, MENU)
def tryout_print(request: HttpRequest, viewer: Viewer, pk: int, kind: str) -> HttpResponse:
    """One of the prints, on the season's paper."""
    if kind not in KINDS:
        raise Http404
    it = tryout_of(viewer, pk)
    made = KINDS[kind](it, paper=it.season.paper)
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")
