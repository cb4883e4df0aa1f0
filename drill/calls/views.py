"""The rehearsal call: asked for, its progress, its files, a rank of it."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.outbox.models import Artifact
from bandops.lib.outbox.progress import file_response, progress_of
from bandops.lib.web import rules
from bandops.lib.web.forms import KeyedForm
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, page
from drill.calls.pdf import render_call
from drill.calls.services import ask_for_call, call_group
from drill.learning.services.work import lineup_for
from drill.rehearsals import queries as rehearsal_queries
from drill.rehearsals.posted import rehearsal_of
from drill.rehearsals.rules import leads_rehearsals, may_note
from drill.rehearsals.services import rehearsals as services
from roster.people.services.printable import lacking_letters
from roster.people.viewer import Viewer
from roster.ranks.models import Rank

MENU = "rehearsals"


@page(rules.staff, MENU)
def call(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The rehearsal call: make it, see how far it is, open the files."""
    event = rehearsal_of(viewer, pk)
    if request.method == "POST":
        told = KeyedForm(request.POST).told()
        ask_for_call(actor=viewer.signed_in, event=event, key=told["key"])
        done(request, "The rehearsal call is being made.")
        return redirect("call", pk=pk)
    performance = rehearsal_queries.performance_after(event)
    context: dict[str, Any] = {
        "event": event,
        "performance": performance,
        "lineup": lineup_for(performance, with_draft=True),
        "schedule": services.schedule(event),
        "ranks": Rank.objects.filter(season=viewer.this_season),
        "key": uuid.uuid4(),
        "lacking": lacking_letters(viewer.this_season),
        **progress_of(call_group(event)),
    }
    return render(request, "calls/call.html", context)


@page(rules.staff, MENU)
def call_progress(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How far the call is; asks again until it is there."""
    event = rehearsal_of(viewer, pk)
    context = {"event": event, **progress_of(call_group(event))}
    return render(request, "calls/call_progress.html", context)


@page(rules.staff, MENU)
def call_file(request: HttpRequest, viewer: Viewer, pk: int, file_pk: int) -> HttpResponse:
    """A call that was made, with all ranks."""
    event = rehearsal_of(viewer, pk)
    made = get_object_or_404(Artifact, pk=file_pk, group=call_group(event))
    return file_response(made.file.read(), made.filename, made.content_type)


@page(leads_rehearsals)
def call_of_rank(request: HttpRequest, viewer: Viewer, pk: int, rank_pk: int) -> HttpResponse:
    """One rank's page, made of the data as they stand: for staff and the rank's leaders."""
    event = rehearsal_of(viewer, pk)
    rank = get_object_or_404(Rank, pk=rank_pk, season=viewer.this_season)
    allow(may_note(viewer, rank.pk))
    made = render_call(
        event, paper=event.season.paper, with_draft=viewer.is_staff, rank_ids={rank.pk}
    )
    filename = f"{made.name}-rank-{rank.pk}.pdf"
    return keep_copy(viewer, file_response(made.content, filename, "application/pdf"))
