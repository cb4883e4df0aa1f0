"""The first draft of an event's lineup."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork
from drill.lineup.posted import editable_event
from drill.lineup.services import drafts
from drill.lineup.views.shown import no_lineup_context
from roster.people.viewer import Viewer

MENU = "lineup"


@require_POST
@page(rules.staff, MENU)
def make(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The solver's first answer as the draft, or why there is none."""
    event = editable_event(viewer, pk)
    try:
        drafts.open_draft(actor=viewer.signed_in, event=event)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        return render(request, "lineup/no_draft.html", no_lineup_context(event, error))
    done(request, "The draft is made. Nobody is told until you publish it.")
    return redirect("lineup", pk=event.pk)
