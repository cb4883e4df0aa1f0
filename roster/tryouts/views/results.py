"""Results: a candidate's own, the public list, and the file for an appeal."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.outbox.progress import file_response
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.models import Candidate, Tryout
from roster.tryouts.pdf import render_appeal, render_results
from roster.tryouts.services import answering, appeals, results
from roster.tryouts.services.answering import hindrance
from roster.tryouts.services.deciding import current, let_go
from roster.tryouts.views.frame import MENU, tryout_of


def _posted(viewer: Viewer, pk: int) -> Tryout:
    """A tryout of this season whose list is posted; 404 before its hour, for one that has none,
    and once the season is over."""
    if viewer.season is None:
        raise Http404
    it = get_object_or_404(queries.tryouts(viewer.season).select_related("season"), pk=pk)
    if not results.is_posted(it, timezone.now()) or current(it) is None:
        raise Http404
    return it


@page(rules.anyone)
def public_list(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The list that hangs on the wall, from its hour on."""
    it = _posted(viewer, pk)
    decision = current(it)
    assert decision is not None
    context = {"tryout": it, "parts": results.public_list(decision), "decision": decision}
    return render(request, "tryouts/public_list.html", context)


@page(rules.staff, MENU)
def print_list(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The same on paper, for staff also before its hour, to be hung up at it."""
    it = tryout_of(viewer, pk)
    decision = current(it)
    if decision is None:
        raise Http404
    made = render_results(it, results.public_list(decision), decision, paper=it.season.paper)
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")


@page(rules.signed_in, "my-tryout")
def my_tryout(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A candidate's own result, once it may be told; own marks once the list is posted."""
    now = timezone.now()
    mine = Candidate.objects.filter(
        person__user=viewer.signed_in, tryout__season=viewer.this_season
    ).select_related("tryout__season", "person")
    shown = []
    for candidate in mine.order_by("-tryout"):
        told = results.are_told(candidate.tryout, now)
        offer = results.own_offer(viewer.signed_in, candidate.tryout) if told else None
        posted = results.is_posted(candidate.tryout, now)
        entry: dict[str, Any] = {"candidate": candidate, "offer": offer, "posted": posted}
        if offer is not None:
            joined = queries.has_joined(candidate.tryout)
            entry |= {
                "expired": offer.has_expired(now),
                "past": offer.is_past(now),
                "gone": let_go(offer.decision).get(candidate.pk),
                "file": appeals.file_of(candidate) if posted else None,
                "may_accept": not hindrance(offer, accept=True, joined=joined, at=now),
                "may_decline": not hindrance(offer, accept=False, joined=joined, at=now),
            }
        shown.append(entry)
    return render(request, "tryouts/mine.html", {"shown": shown})


@require_POST
@page(rules.signed_in, "my-tryout")
def answer(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Accept or decline one's own offer."""
    it = get_object_or_404(queries.tryouts(viewer.this_season), pk=pk)
    now = timezone.now()
    offer = results.own_offer(viewer.signed_in, it) if results.are_told(it, now) else None
    if offer is None:
        raise Http404
    accept = request.POST.get("what") == "accept"
    answering.answer_offer(actor=viewer.signed_in, offer=offer, accept=accept, at=now)
    text = "Thank you: you are in." if accept else "You declined."
    done(request, text, undo=False)
    return redirect("my-tryout")


@page(rules.staff, MENU)
def appeal_file(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """The file for a candidate who asks why: their own marks alone."""
    it = tryout_of(viewer, pk)
    who = get_object_or_404(queries.candidates(it), pk=candidate_pk)
    if current(it) is None:
        raise Http404
    record_view(viewer.signed_in, Candidate._meta.db_table, who.pk, "the file for an appeal")
    file = appeals.file_of(who)
    made = render_appeal(file, paper=it.season.paper)
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")
