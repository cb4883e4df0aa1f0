"""Rehearsals: the list and their blocks."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.rehearsals import queries
from drill.rehearsals.forms import BlockForm
from drill.rehearsals.models import RehearsalBlock
from drill.rehearsals.posted import MENU, rehearsal_of
from drill.rehearsals.services import rehearsals as services
from drill.rehearsals.services.attendance_counts import counts_of
from roster.people.viewer import Viewer


@page(rules.staff, MENU)
def rehearsals(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Coming and past rehearsals, with attendance in figures."""
    events = list(queries.rehearsals(viewer.this_season))
    counts = counts_of(events)
    now = timezone.now()
    rows = [(e, services.schedule(e), counts.get(e.pk)) for e in events]
    context = {
        "coming": [row for row in rows if not queries.is_over(row[0], now)],
        "past": [row for row in reversed(rows) if queries.is_over(row[0], now)],
    }
    return render(request, "rehearsals/list.html", context)


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
