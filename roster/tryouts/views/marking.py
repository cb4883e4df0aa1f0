"""An evaluator's pages on a tablet: groups, and one candidate's number at a time."""

from __future__ import annotations

import uuid

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.forms.marking import MarkForm, OtherForm
from roster.tryouts.models import Candidate, Panelist, Tryout, TryoutSession
from roster.tryouts.rules import panelist_of
from roster.tryouts.services import candidates as candidate_services
from roster.tryouts.services import marking as services

MENU = "marking"


def seats_of(viewer: Viewer) -> list[tuple[Tryout, Panelist]]:
    """The season's tryouts that the account evaluates in."""
    rows = Panelist.objects.filter(tryout__season=viewer.this_season, user=viewer.signed_in)
    rows = rows.select_related("tryout__season", "user").order_by("-tryout")
    return [(panelist.tryout, panelist) for panelist in rows]


def seat_of(viewer: Viewer, tryout: Tryout) -> Panelist:
    """The viewer as an evaluator of the tryout; 404 for others."""
    found = panelist_of(viewer, tryout)
    if found is None:
        raise Http404
    return found


@page(rules.evaluates, MENU)
def marking(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The groups to mark, with how far each is."""
    sheets = [
        (tryout, panelist, services.own_groups(panelist), OtherForm(tryout, prefix=str(tryout.pk)))
        for tryout, panelist in seats_of(viewer)
    ]
    return keep_copy(viewer, render(request, "tryouts/marking.html", {"sheets": sheets}))


@page(rules.evaluates, MENU)
def group_looks(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One group: a candidate at a time."""
    mine = (g for _, seat in seats_of(viewer) for g in services.own_groups(seat))
    every = list(mine)
    own = next((one for one in every if one.group.pk == pk), None)
    if own is None:
        raise Http404
    at = every.index(own)
    context = {
        "title": f"{own.group}, {own.group.session}",
        "session": own.group.session,
        "looks": own.looks,
        "following": every[at + 1].group if at + 1 < len(every) else None,
    }
    return _looks_page(request, viewer, context)


@page(rules.evaluates, MENU)
def other_look(
    request: HttpRequest, viewer: Viewer, session_pk: int, candidate_pk: int
) -> HttpResponse:
    """A candidate out of turn."""
    session, candidate, panelist = _look(viewer, session_pk, candidate_pk)
    looks = services.own_looks(panelist, session, [candidate])
    context = {"title": f"{candidate.called}, {session}", "session": session, "looks": looks}
    return _looks_page(request, viewer, context)


@page(rules.evaluates, MENU)
def find_look(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """From a number to its look."""
    tryout = get_object_or_404(queries.tryouts(viewer.this_season), pk=pk)
    seat_of(viewer, tryout)
    form = OtherForm(tryout, request.GET, prefix=str(pk))
    if not form.is_valid():
        raise Refused(" ".join(str(e) for errors in form.errors.values() for e in errors))
    data = form.cleaned_data
    return redirect("look-other", session_pk=data["session"].pk, candidate_pk=data["number"].pk)


def _looks_page(request: HttpRequest, viewer: Viewer, context: dict[str, object]) -> HttpResponse:
    session = context["session"]
    assert isinstance(session, TryoutSession)
    context |= {"open": session.tryout.is_open, "key": uuid.uuid4()}
    return keep_copy(viewer, render(request, "tryouts/looks.html", context))


def _look(
    viewer: Viewer, session_pk: int, candidate_pk: int
) -> tuple[TryoutSession, Candidate, Panelist]:
    sessions = TryoutSession.objects.select_related("tryout__season")
    session = get_object_or_404(sessions, pk=session_pk, tryout__season=viewer.this_season)
    people = queries.candidates(session.tryout)
    candidate = get_object_or_404(people, pk=candidate_pk)
    return session, candidate, seat_of(viewer, session.tryout)


@require_POST
@page(rules.evaluates, MENU)
def note_mark(
    request: HttpRequest, viewer: Viewer, session_pk: int, candidate_pk: int
) -> HttpResponse:
    """One mark; what was tapped comes back as it counts now."""
    session, candidate, panelist = _look(viewer, session_pk, candidate_pk)
    told = MarkForm(request.POST).told()
    criterion = queries.criteria(session.tryout).filter(pk=told["criterion"]).first()
    if criterion is None:
        raise Refused("What is marked just changed: open the page again.")
    try:
        value = services.read_mark(told["value"])
    except ValueError as error:
        raise Refused(str(error)) from None
    given = services.Given(panelist, candidate, criterion, session, value)
    services.give_mark(actor=viewer.signed_in, given=given, at=told["noted_at"])
    [look] = services.own_looks(panelist, session, [candidate])
    if not request.htmx:  # type: ignore[attr-defined]
        done(request, f"{candidate.called}, {criterion}: {told['value']}.", undo=False)
        where = reverse("look-other", args=[session_pk, candidate_pk])
        return redirect(f"{where}#c{candidate_pk}_{criterion.pk}")
    context = {
        "look": look,
        "line": next(it for it in look.lines if it.criterion == criterion),
        "session": session,
        "open": True,
        "key": uuid.uuid4(),
        "apart": True,
    }
    return render(request, "tryouts/noted.html", context)


@require_POST
@page(rules.evaluates, MENU)
def recuse_me(
    request: HttpRequest, viewer: Viewer, session_pk: int, candidate_pk: int
) -> HttpResponse:
    """The evaluator knows the candidate and does not mark them."""
    _session, candidate, panelist = _look(viewer, session_pk, candidate_pk)
    candidate_services.recuse(actor=viewer.signed_in, candidate=candidate, evaluator=panelist.user)
    done(request, f"You don't mark {candidate.called}. Others do.", undo=False)
    return redirect("marking")
