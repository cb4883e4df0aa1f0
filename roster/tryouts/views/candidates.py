"""Candidates: the list, one of them, numbers and their key."""

from __future__ import annotations

from django.core.paginator import Page
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.filters import CandidateFilters
from roster.tryouts.forms.candidates import CandidateForm, NumbersForm, ReadyForm, RecuseForm
from roster.tryouts.models import Candidate, Recusal, RetiredNumber, Tryout
from roster.tryouts.rules import may_open_key
from roster.tryouts.services import candidates as services
from roster.tryouts.views.frame import MENU, show, tryout_of

TAB, KEY = "candidates", "candidate numbers"


def candidate_of(tryout: Tryout, pk: int) -> Candidate:
    """A candidate of the tryout, with their parts; 404 for none."""
    return get_object_or_404(queries.candidates(tryout), pk=pk)


def with_lacks(found: Page[Candidate], tryout: Tryout) -> Page[Candidate]:
    """The candidates of a page, each with the items they lack as ``lacks``."""
    rows = list(found.object_list)
    missing = services.missing_items(rows, tryout)
    for row in rows:
        row.lacks = missing.get(row.pk, [])  # type: ignore[attr-defined]
    found.object_list = rows
    return found


@page(rules.staff, MENU)
def candidates(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Who tries out, with what they lack."""
    it = tryout_of(viewer, pk)
    filters = CandidateFilters.of(request, queries.candidates(it))
    found = page_of(request, filters.rows)
    context = {
        "filters": filters,
        "candidates": with_lacks(found, it),
        "without_number": queries.trying(it).filter(number__isnull=True).count(),
        "may_open_key": may_open_key(viewer, it),
    }
    return show(request, it, TAB, "tryouts/candidates.html", context)


@page(rules.staff, MENU)
def new_candidate(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One more who tries out."""
    it = tryout_of(viewer, pk)
    form = CandidateForm(it, request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.add_candidate(
                actor=viewer.signed_in,
                tryout=it,
                person=form.new_person(),
                values=form.values,
                wishes=form.wishes,
                namesake_is_meant=form.cleaned_data["namesake"],
            ),
        )
        if made is not None:
            done(request, f"{made} tries out.")
            return redirect("candidate", pk=pk, candidate_pk=made.pk)
    context = {"form": form, "title": "New candidate", "back": reverse("candidates", args=[pk])}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def candidate(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """One candidate: parts, what is missing, who does not mark them."""
    it = tryout_of(viewer, pk)
    who = candidate_of(it, candidate_pk)
    context = {
        "candidate": who,
        "missing": services.missing_items([who], it).get(who.pk, []),
        "ready": ReadyForm(it, initial={"items": [r.item_id for r in who.ready.all()]}),
        "has_items": it.readiness_items.exists(),
        "recusals": who.recusals.select_related("evaluator"),
        "recuse": RecuseForm(it),
        "may_open_key": may_open_key(viewer, it),
    }
    return show(request, it, TAB, "tryouts/candidate.html", context)


@page(rules.staff, MENU)
def edit_candidate(
    request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int
) -> HttpResponse:
    """Change what is recorded."""
    it = tryout_of(viewer, pk)
    who = candidate_of(it, candidate_pk)
    form = CandidateForm.of(who, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.change_candidate(
                actor=viewer.signed_in,
                candidate=who,
                person_values=form.person_values,
                values=form.values,
                wishes=form.wishes,
            ),
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("candidate", pk=pk, candidate_pk=who.pk)
    back = reverse("candidate", args=[pk, who.pk])
    context = {"form": form, "title": f"Change {who}", "back": back}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def note_ready(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """What they have of what is asked for."""
    it = tryout_of(viewer, pk)
    who = candidate_of(it, candidate_pk)
    form = ReadyForm(it, request.POST)
    if form.is_valid():
        items = list(form.cleaned_data["items"])
        shown = it.readiness_items.values_list("pk", flat=True)
        services.note_ready(actor=viewer.signed_in, candidate=who, items=items, shown=shown)
        done(request, f"{who}: saved.")
    return redirect("candidate", pk=pk, candidate_pk=who.pk)


@require_POST
@page(rules.staff, MENU)
def withdraw(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """They try out no more, or after all."""
    who = candidate_of(tryout_of(viewer, pk), candidate_pk)
    if request.POST.get("back"):
        services.take_back(actor=viewer.signed_in, candidate=who)
        done(request, f"{who} tries out again.")
    else:
        services.withdraw(actor=viewer.signed_in, candidate=who, at=timezone.now())
        done(request, f"{who} withdrew.")
    return redirect("candidate", pk=pk, candidate_pk=who.pk)


@require_POST
@page(rules.staff, MENU)
def replace_number(
    request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int
) -> HttpResponse:
    """Another number for one that was lost or seen."""
    who = candidate_of(tryout_of(viewer, pk), candidate_pk)
    number = services.replace_number(actor=viewer.signed_in, candidate=who)
    record_view(viewer.signed_in, Candidate._meta.db_table, who.pk, KEY)
    done(request, f"{who} has number {number} now. Nobody gets the old one again.", undo=False)
    return redirect("candidate", pk=pk, candidate_pk=who.pk)


@require_POST
@page(rules.staff, MENU)
def recuse(request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int) -> HttpResponse:
    """An evaluator does not mark them."""
    it = tryout_of(viewer, pk)
    who = candidate_of(it, candidate_pk)
    form = RecuseForm(it, request.POST)
    if form.is_valid():
        evaluator = form.cleaned_data["evaluator"].user
        services.recuse(actor=viewer.signed_in, candidate=who, evaluator=evaluator)
        done(request, f"{evaluator} does not mark {who}.")
    return redirect("candidate", pk=pk, candidate_pk=who.pk)


@require_POST
@page(rules.staff, MENU)
def lift_recusal(
    request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int, recusal_pk: int
) -> HttpResponse:
    """The recusal was a mistake."""
    who = candidate_of(tryout_of(viewer, pk), candidate_pk)
    it = get_object_or_404(Recusal, pk=recusal_pk, candidate=who)
    services.lift_recusal(actor=viewer.signed_in, recusal=it)
    done(request, f"{it.evaluator} may mark {who}.")
    return redirect("candidate", pk=pk, candidate_pk=who.pk)


@page(rules.staff, MENU)
def give_numbers(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Numbers by lot for all who have none."""
    it = tryout_of(viewer, pk)
    form = NumbersForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        given = save_through(
            form,
            lambda: services.give_numbers(
                actor=viewer.signed_in, tryout=it, start=form.cleaned_data["start"]
            ),
        )
        if given is not None:
            done(request, f"{given} candidates have a number now.")
            return redirect("candidates", pk=pk)
    context = {
        "form": form,
        "title": "Give numbers",
        "lead": "Numbers are drawn by lot, so that they tell nothing about anybody.",
        "button": "Give numbers",
        "back": reverse("candidates", args=[pk]),
    }
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def number_key(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Whose number is whose; each opening is noted. A page asks before it is opened."""
    it = tryout_of(viewer, pk)
    allowed, opened = may_open_key(viewer, it), request.method == "POST"
    rows: list[Candidate] = []
    if allowed and opened:
        rows = list(queries.candidates(it).filter(number__isnull=False).order_by("number"))
        record_view(viewer.signed_in, Tryout._meta.db_table, it.pk, KEY)
    retired = RetiredNumber.objects.filter(tryout=it).select_related("candidate__person")
    context = {
        "allowed": allowed,
        "opened": allowed and opened,
        "rows": rows,
        "retired": retired if rows else [],
    }
    return show(request, it, TAB, "tryouts/key.html", context)
