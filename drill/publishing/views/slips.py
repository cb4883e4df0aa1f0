"""All slips of an event on paper in one tap."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_POST

from bandops.lib.outbox.progress import file_response
from bandops.lib.web import rules
from bandops.lib.web.pages import page
from drill.events.posted import event_of
from drill.lineup import queries as lineup_queries
from drill.publishing.pdf.slips import render_slip_sheets
from drill.publishing.services.slips import note_printed, slips_to_print
from roster.people.viewer import Viewer


@require_POST
@page(rules.staff, "lineup")
def print_slips(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The new slips, or with ``which=all`` every slip again, several to a sheet."""
    event = event_of(viewer, pk)
    told = slips_to_print(event, again=request.POST.get("which") == "all")
    lineup = lineup_queries.published(event)
    assert lineup is not None
    lineup.event = event
    content = render_slip_sheets(lineup, told, viewer.this_season.paper)
    note_printed(actor=viewer.signed_in, told=told)
    return file_response(content, f"slips-r{lineup.number}.pdf", "application/pdf")
