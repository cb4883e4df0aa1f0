"""What was done, by whom, and taking one action back; who looked at what is kept private."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit import searching, undo
from bandops.lib.audit.forms import HistoryForm, LooksForm
from bandops.lib.audit.reading import Action, actions, looks_in_words
from bandops.lib.audit.takable import kept, locked, may_take_back
from bandops.lib.audit.ties import REMARKS
from bandops.lib.errors import Refused
from bandops.lib.ties import merged
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import back, page

MENU = "history"
A_PAGE, LOOKS_A_PAGE = 30, 50


@page(rules.staff, MENU)
def history(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The staff's actions of the last two weeks, latest first, or those that are asked for."""
    form = HistoryForm(request.GET)
    asked = form.asked()
    batches = Paginator(searching.batches(viewer, asked), A_PAGE).get_page(request.GET.get("page"))
    found = actions(batches)
    stays = kept(batches) | locked(viewer, batches)
    recent = set(searching.batches(viewer).filter(batch__in=list(batches)) if asked else batches)
    may = [a.batch in recent and a.batch not in stays and _is_open(viewer, a) for a in found]
    remarks = merged(REMARKS.ask(list(batches)))
    said = [replace(a, remark=remarks.get(a.batch, "")) for a in found]
    context: dict[str, Any] = {
        "form": form,
        "asked": asked,
        "page": batches,
        "actions": list(zip(said, may, strict=True)),
        "days": searching.DAYS,
    }
    return render(request, "audit/history.html", context)


@page(rules.staff, MENU)
def looks(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who looked at an emergency contact, a clearance, the reason of an absence; latest first."""
    form = LooksForm(request.GET)
    asked = form.asked()
    found = Paginator(searching.looks(viewer, asked), LOOKS_A_PAGE)
    shown = found.get_page(request.GET.get("page"))
    context = {"form": form, "asked": asked, "page": shown, "looks": looks_in_words(shown)}
    return render(request, "audit/looks.html", context)


@require_POST
@page(rules.staff, MENU)
def take_back(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One action back, or why not."""
    batch = request.POST.get("batch", "")
    found = actions(searching.batches(viewer).filter(batch=batch))
    if not found or kept([batch]) or not _is_open(viewer, found[0]):
        raise Refused("This action cannot be taken back here.")
    if locked(viewer, [batch]):
        raise Refused("The cut-off has passed: only the director changes this lineup now.")
    undo.take_back(actor=viewer.signed_in, batch=batch)
    done(request, f"Taken back: {found[0].by} {found[0].said}.")
    return back(request, "history")


def _is_open(viewer: Viewer, action: Action) -> bool:
    return may_take_back(viewer, action.tables, action.taken_back)
