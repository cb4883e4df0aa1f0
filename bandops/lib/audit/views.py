"""What was done, by whom, and taking one action back; who looked at what is kept private."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_POST

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit import searching, undo
from bandops.lib.audit.filters import HistoryFilters, LookFilters
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.reading import Action, actions, looks_in_words
from bandops.lib.audit.since import overtaken
from bandops.lib.audit.takable import kept, locked, may_take_back
from bandops.lib.audit.ties import REMARKS
from bandops.lib.errors import Refused
from bandops.lib.ties import merged
from bandops.lib.web import rules
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import back, page

MENU = "history"


@page(rules.staff, MENU)
def history(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The staff's actions of the last two weeks, latest first, or those that are asked for."""
    filters = HistoryFilters.of(request, searching.written())
    batches = page_of(request, searching.batches(filters.rows))
    found = actions(batches)
    stays = kept(batches) | locked(viewer, batches)
    stays |= overtaken(a.batch for a in found if a.batch not in stays)
    recent = set(_lately(viewer).filter(batch__in=list(batches)))
    may = [a.batch in recent and a.batch not in stays and _is_open(viewer, a) for a in found]
    remarks = merged(REMARKS.ask(list(batches)))
    said = [replace(a, remark=remarks.get(a.batch, "")) for a in found]
    context: dict[str, Any] = {
        "filters": filters,
        "page": batches,
        "actions": list(zip(said, may, strict=True)),
        "days": searching.DAYS,
    }
    return render(request, "audit/history.html", context)


@page(rules.staff, MENU)
def looks(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who looked at an emergency contact, a clearance, the reason of an absence; latest first."""
    filters = LookFilters.of(request, searching.looks())
    shown = page_of(request, filters.rows)
    context = {"filters": filters, "page": shown, "looks": looks_in_words(shown)}
    return render(request, "audit/looks.html", context)


@require_POST
@page(rules.takes_back, MENU)
def take_back(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One action back, or why not."""
    batch = request.POST.get("batch", "")
    found = actions(_lately(viewer).filter(batch=batch))
    if not found or kept([batch]) or not _is_open(viewer, found[0]):
        raise Refused("This action cannot be taken back here.")
    if locked(viewer, [batch]):
        raise Refused("The cut-off has passed: only the director changes this lineup now.")
    undo.take_back(actor=viewer.signed_in, batch=batch)
    done(request, f"Taken back: {found[0].by} {found[0].said}.")
    return back(request, "history")


def _lately(viewer: Viewer) -> QuerySet[AuditEntry, str]:
    return searching.batches(searching.lately(viewer, searching.written()))


def _is_open(viewer: Viewer, action: Action) -> bool:
    return may_take_back(viewer, action.tables, action.taken_back)
