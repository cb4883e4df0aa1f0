"""Seating: the selected in ranks and spots, rules and weights, locks, why here, joining."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts.core import seating as core
from roster.tryouts.forms.seating import ApartForm, JoinForm, MoveSeatForm, SeatingForm
from roster.tryouts.models import Candidate, KeepApart, Seat
from roster.tryouts.services import joining
from roster.tryouts.services import seating as services
from roster.tryouts.views.frame import MENU, show, tryout_of
from roster.tryouts.wording import why_words

TAB = "tryout-seating"


@page(rules.staff, MENU)
def seating(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Rank by rank, with what counts, who is kept apart, and the step that makes members."""
    it = tryout_of(viewer, pk)
    ground = services.ground_of(it)
    seats = ground.now
    waiting = [o for o in ground.offers if o.candidate_id not in seats]
    context = {
        "plan": ground.plan,
        "selected": len(ground.offers),
        "spots": len(ground.spots),
        "seated": len(seats),
        "waiting": waiting,
        "ranks": services.ranks_of(ground) if seats else [],
        "scores": core.scores_of(ground.problem, seats) if seats else None,
        "broken": core.broken(ground.problem, seats) if seats else [],
        "form": SeatingForm(instance=ground.plan),
        "apart_form": ApartForm(it),
        "apart": KeepApart.objects.filter(tryout=it).select_related(
            "first__person", "second__person"
        ),
        "join_form": JoinForm(initial={"on": max(it.season.today(), it.season.starts)}),
    }
    return show(request, it, TAB, "tryouts/seating.html", context)


@require_POST
@page(rules.staff, MENU)
def save_rules(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How much each wish counts."""
    it = tryout_of(viewer, pk)
    form = SeatingForm(request.POST, instance=services.plan_of(it))
    if form.is_valid():
        saved = save_through(
            form, lambda: services.save_rules(actor=viewer.signed_in, plan=form.instance)
        )
        if saved is not None:
            done(request, "What counts is saved. Seat them again to use it.")
            return redirect("tryout-seating", pk=pk)
    context = {"form": form, "title": "What counts", "back": reverse("tryout-seating", args=[pk])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def seat_all(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Seat everybody, close to what is there or anew."""
    it = tryout_of(viewer, pk)
    found = services.seat_all(
        actor=viewer.signed_in, tryout=it, anew=request.POST.get("anew") == "1"
    )
    moved = f" {found.scores.moved} moved." if found.scores.moved else ""
    done(request, f"{len(found.seats)} are seated, {found.scores.open} spots stay open.{moved}")
    return redirect("tryout-seating", pk=pk)


@page(rules.staff, MENU)
def seat(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """Why somebody sits where they do; another spot by hand."""
    it = tryout_of(viewer, pk)
    ground = services.ground_of(it)
    row = next((s for s in ground.seats if s.candidate_id == candidate_pk), None)
    offer = ground.by_candidate.get(candidate_pk)
    if offer is None:
        raise Http404
    form = MoveSeatForm(ground, offer.candidate, request.POST or None)
    if request.method == "POST" and form.is_valid():
        moved = save_through(form, lambda: _move(viewer, pk, offer.candidate, form))
        if moved is not None:
            done(request, f"{offer.candidate} is moved and locked there.")
            return redirect("tryout-seating", pk=pk)
    why = core.why_here(ground.problem, ground.now, candidate_pk) if row else None
    context = {
        "offer": offer,
        "seat": row,
        "why": why_words(why, ground) if why else [],
        "form": form,
        "applied": ground.plan.applied_at,
    }
    return show(request, it, TAB, "tryouts/seat.html", context)


def _move(viewer: Viewer, pk: int, candidate: Candidate, form: MoveSeatForm) -> bool:
    services.move_seat(
        actor=viewer.signed_in,
        tryout=tryout_of(viewer, pk),
        candidate=candidate,
        spot=form.cleaned_data["spot"],
    )
    return True


@require_POST
@page(rules.staff, MENU)
def lock_seat(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """Whether the seat stays when the rest is seated again."""
    it = tryout_of(viewer, pk)
    row = get_object_or_404(Seat, plan__tryout=it, candidate=candidate_pk)
    lock = request.POST.get("lock") == "1"
    services.lock_seat(actor=viewer.signed_in, tryout=it, seat=row, lock=lock)
    return redirect("tryout-seat", pk=pk, candidate_pk=candidate_pk)


@require_POST
@page(rules.staff, MENU)
def keep_apart(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Two who are not seated in one rank."""
    it = tryout_of(viewer, pk)
    form = ApartForm(it, request.POST)
    if not form.is_valid():
        context = {"form": form, "title": "Keep apart", "back": reverse(TAB, args=[pk])}
        return render(request, "form_page.html", context)
    services.keep_apart(actor=viewer.signed_in, tryout=it, **form.cleaned_data)
    done(request, "They will not be seated in one rank. Seat them again to use it.")
    return redirect("tryout-seating", pk=pk)


@require_POST
@page(rules.staff, MENU)
def let_together(request: HttpRequest, viewer: Viewer, pk: int, pair_pk: int) -> HttpResponse:
    """They may be in one rank."""
    pair = get_object_or_404(KeepApart, pk=pair_pk, tryout=tryout_of(viewer, pk))
    services.let_together(actor=viewer.signed_in, pair=pair)
    done(request, "They may be seated in one rank.")
    return redirect("tryout-seating", pk=pk)


@require_POST
@page(rules.staff, MENU)
def join(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Members, holdings and alternates, in one step."""
    it = tryout_of(viewer, pk)
    form = JoinForm(request.POST)
    if not form.is_valid():
        context = {"form": form, "title": "Make them members", "back": reverse(TAB, args=[pk])}
        return render(request, "form_page.html", context)
    made = joining.join_all(actor=viewer.signed_in, tryout=it, on=form.cleaned_data["on"])
    done(
        request,
        f"{made.members} are members now: {made.holders} hold a spot, {made.alternates} stand by.",
    )
    return redirect("tryout-seating", pk=pk)
