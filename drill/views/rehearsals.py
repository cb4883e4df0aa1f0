"""Rehearsals: the list, their blocks, the rehearsal call."""

from __future__ import annotations

import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.outbox.models import Artifact
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from drill import queries
from drill.forms.rehearsals import BlockForm, KeyedForm
from drill.models import Event, RehearsalBlock
from drill.rules import leads_rehearsals, may_note
from drill.services import rehearsals as services
from drill.services.attendance import counts_of
from drill.services.calls import ask_for_call, call_group
from drill.services.learning import lineup_for
from drill.views.revisions import file_response, progress_of
from roster import rules
from roster.models import Rank
from roster.viewer import Viewer
from roster.views.access import allow, page

MENU = "dates"


def rehearsal_of(viewer: Viewer, pk: int) -> Event:
    """The season's rehearsal of that number, with its season; 404 for anything else."""
    event = get_object_or_404(queries.rehearsals(viewer.this_season), pk=pk)
    event.season = viewer.this_season
    return event


def menu_of(viewer: Viewer) -> str:
    """Where the pages for staff and rank leaders belong."""
    return MENU if viewer.is_staff else "my-rank"


@page(rules.staff, MENU)
def rehearsals(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Coming and past rehearsals, with attendance in figures."""
    events = list(queries.rehearsals(viewer.this_season))
    counts = counts_of(events)
    today = timezone.localdate()
    rows = [(e, services.schedule(e), counts.get(e.pk)) for e in events]
    context = {
        "coming": [row for row in rows if row[0].date >= today],
        "past": [row for row in reversed(rows) if row[0].date < today],
    }
    return render(request, "drill/rehearsals/list.html", context)


@page(rules.staff, MENU)
def new_block(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One more block of a rehearsal."""
    event = rehearsal_of(viewer, pk)
    return _block_page(request, viewer, RehearsalBlock(event=event), f"Add a block to {event}")


@page(rules.staff, MENU)
def edit_block(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change a block."""
    block = _block(viewer, pk)
    return _block_page(request, viewer, block, f"{block.event}: {block.what}")


def _block_page(
    request: HttpRequest, viewer: Viewer, block: RehearsalBlock, title: str
) -> HttpResponse:
    form = BlockForm(block.event, request.POST or None, instance=block)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.save_block(actor=viewer.signed_in, block=form.instance)
        )
        if saved is not None:
            done(request, f"{saved.what} is saved.")
            return redirect("event", pk=saved.event_id)
    context = {"form": form, "title": title, "back": reverse("event", args=[block.event_id])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_block(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a block."""
    block = _block(viewer, pk)
    services.remove_block(actor=viewer.signed_in, block=block)
    done(request, f"{block.what} is removed.")
    return redirect("event", pk=block.event_id)


def _block(viewer: Viewer, pk: int) -> RehearsalBlock:
    blocks = RehearsalBlock.objects.select_related("event__season")
    return get_object_or_404(blocks, pk=pk, event__season=viewer.this_season)


@page(rules.staff, MENU)
def call(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The rehearsal call: make it, see how far it is, open the files."""
    event = rehearsal_of(viewer, pk)
    if request.method == "POST":
        told = KeyedForm(request.POST).told()
        ask_for_call(actor=viewer.signed_in, event=event, key=told["key"])
        done(request, "The rehearsal call is being made.")
        return redirect("call", pk=pk)
    performance = queries.performance_after(event)
    context: dict[str, Any] = {
        "event": event,
        "performance": performance,
        "lineup": lineup_for(performance, with_draft=True),
        "schedule": services.schedule(event),
        "ranks": Rank.objects.filter(season=viewer.this_season),
        "key": uuid.uuid4(),
        **progress_of(call_group(event)),
    }
    return render(request, "drill/rehearsals/call.html", context)


@page(rules.staff, MENU)
def call_progress(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How far the call is; asks again until it is there."""
    event = rehearsal_of(viewer, pk)
    context = {"event": event, **progress_of(call_group(event))}
    return render(request, "drill/rehearsals/call_progress.html", context)


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
    from drill.pdf.calls import render_call

    made = render_call(
        event, paper=event.season.paper, with_draft=viewer.is_staff, rank_ids={rank.pk}
    )
    filename = f"{made.name}-rank-{rank.pk}.pdf"
    return file_response(made.content, filename, "application/pdf")
