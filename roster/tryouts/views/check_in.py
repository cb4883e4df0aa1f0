"""Check-in on a phone: find somebody, hand out the number, see what is missing."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.web import rules
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.forms.candidates import ReadyForm
from roster.tryouts.models import Candidate
from roster.tryouts.services import candidates as services
from roster.tryouts.views.candidates import KEY, TAB, candidate_of, with_lacks
from roster.tryouts.views.frame import MENU, show, tryout_of


@page(rules.staff, MENU)
def check_in(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Those who are not here yet, found by a few letters of the name."""
    it = tryout_of(viewer, pk)
    text = request.GET.get("q", "").strip()
    rows = queries.search_candidates(queries.trying(it), text)
    waiting = rows.filter(checked_in_at__isnull=True)
    context = {
        "q": text,
        "candidates": with_lacks(page_of(request, waiting), it),
        "here": queries.trying(it).filter(checked_in_at__isnull=False).count(),
        "all": queries.trying(it).count(),
        "found_here": rows.filter(checked_in_at__isnull=False)[:10] if text else [],
    }
    return show(request, it, TAB, "tryouts/check_in.html", context)


@page(rules.staff, MENU)
def checked_in(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """The number to hand out, and what is missing, to be noted at once."""
    it = tryout_of(viewer, pk)
    who = candidate_of(it, candidate_pk)
    record_view(viewer.signed_in, Candidate._meta.db_table, who.pk, KEY)
    context = {
        "candidate": who,
        "missing": services.missing_items([who], it).get(who.pk, []),
        "ready": ReadyForm(it, initial={"items": [r.item_id for r in who.ready.all()]}),
        "has_items": it.readiness_items.exists(),
    }
    return show(request, it, TAB, "tryouts/checked_in.html", context)


@require_POST
@page(rules.staff, MENU)
def note_here(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """They are here, or are not after all."""
    who = candidate_of(tryout_of(viewer, pk), candidate_pk)
    if request.POST.get("back"):
        services.take_check_in_back(actor=viewer.signed_in, candidate=who)
        done(request, f"{who} is not checked in.")
        return redirect("check-in", pk=pk)
    services.check_in(actor=viewer.signed_in, candidate=who, at=timezone.now())
    done(request, f"{who} is checked in.", undo=False)
    return redirect("checked-in", pk=pk, candidate_pk=who.pk)
