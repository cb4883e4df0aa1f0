"""Staff's view of the marks: how far evaluators are, the sheet check, corrections."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.forms.checking import CorrectionForm
from roster.tryouts.models import (
    Candidate,
    Correction,
    MarkChange,
    Panelist,
    Tryout,
    TryoutSession,
    TypedSheet,
)
from roster.tryouts.rules import panelist_of
from roster.tryouts.services import checking, correcting
from roster.tryouts.services.marking import mark_words
from roster.tryouts.services.marks import counting, marks_of, words_of
from roster.tryouts.services.progress import evaluator_progress
from roster.tryouts.views.frame import MENU, show, tryout_of

TAB = "tryout-marks"
MOST_MISSING = 60


@page(rules.staff, MENU)
def marks(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How far everybody is, what the sheet check found, what waits for a second person."""
    it = tryout_of(viewer, pk)
    checked = checking.check_sheets(it)
    waiting = Correction.objects.filter(tryout=it, answered_at=None).select_related("asked_by")
    context = {
        "progress": evaluator_progress(it),
        "findings": checked.grave,
        "missing": checked.missing[:MOST_MISSING],
        "missing_more": max(0, len(checked.missing) - MOST_MISSING),
        "corrections": [(c, _lines(c), c.asked_by_id != viewer.signed_in.pk) for c in waiting],
        "sheets": TypedSheet.objects.filter(session__tryout=it).select_related(
            "session", "panelist"
        ),
        "evaluates": panelist_of(viewer, it),
    }
    return show(request, it, TAB, "tryouts/marks.html", context)


def _lines(correction: Correction) -> list[str]:
    """'B, 812, Flanks: 7 becomes 5.'"""
    rows = MarkChange.objects.filter(correction=correction).select_related(
        "mark__candidate", "mark__criterion", "mark__panelist"
    )
    return [
        f"{c.mark.panelist}, {c.mark.candidate.called}, {c.mark.criterion}: "
        f"{mark_words(c.before)} becomes {mark_words(c.value)}"
        for c in rows.order_by("mark__candidate__number", "mark__criterion")
    ]


@require_POST
@page(rules.staff, MENU)
def settle(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A finding is right as it stands, or its marks are asked to be moved."""
    it = tryout_of(viewer, pk)
    key = request.POST.get("finding", "")
    finding = next((f for f in checking.check_sheets(it).grave if f.key == key), None)
    if finding is None:
        raise Refused("This was settled meanwhile, or the marks have changed.")
    if request.POST.get("what") == "move":
        reason = request.POST.get("reason", "") or finding.title
        correcting.ask_moves(actor=viewer.signed_in, tryout=it, reason=reason, moves=finding.moves)
        done(request, "Asked for. A second person on the staff has to agree.", undo=False)
    else:
        checking.settle(actor=viewer.signed_in, tryout=it, key=key)
        done(request, "Noted: the marks are right as they stand.")
    return redirect("tryout-marks", pk=pk)


@require_POST
@page(rules.staff, MENU)
def answer_correction(
    request: HttpRequest, viewer: Viewer, pk: int, correction_pk: int
) -> HttpResponse:
    """A second person agrees, or somebody refuses."""
    it = get_object_or_404(
        Correction.objects.select_related("tryout__season"), pk=correction_pk, tryout_id=pk
    )
    tryout_of(viewer, pk)
    agreed = request.POST.get("what") == "agree"
    correcting.answer(actor=viewer.signed_in, correction=it, agreed=agreed)
    done(request, "The corrected marks count now." if agreed else "Refused.", undo=False)
    return redirect("tryout-marks", pk=pk)


@page(rules.staff, MENU)
def candidate_marks(
    request: HttpRequest, viewer: Viewer, pk: int, candidate_pk: int
) -> HttpResponse:
    """All marks of one number, with every word that was said about each."""
    it = tryout_of(viewer, pk)
    who = get_object_or_404(queries.candidates(it), pk=candidate_pk)
    rows = marks_of(it).filter(candidate=who).select_related("criterion", "session", "panelist")
    rows = rows.prefetch_related(
        "changes__correction__asked_by", "changes__correction__answered_by"
    )
    looks: dict[tuple[TryoutSession, Panelist], list[tuple[object, list[object]]]] = {}
    for mark in rows.order_by("session__starts_at", "panelist__code", "criterion__order"):
        said = [(mark_words(w.value), w) for w in words_of(mark, mark.changes.all())]
        looks.setdefault((mark.session, mark.panelist), []).append((mark.criterion, list(said)))
    context = {"candidate": who, "looks": list(looks.items())}
    return show(request, it, TAB, "tryouts/candidate_marks.html", context)


@page(rules.staff, MENU)
def correct_look(
    request: HttpRequest,
    viewer: Viewer,
    pk: int,
    candidate_pk: int,
    session_pk: int,
    panelist_pk: int,
) -> HttpResponse:
    """Ask for other marks in one look, with a reason."""
    it = tryout_of(viewer, pk)
    who = get_object_or_404(Candidate, pk=candidate_pk, tryout=it)
    rows = marks_of(it).filter(candidate=who, session=session_pk, panelist=panelist_pk)
    said = counting(rows.select_related("criterion").order_by("criterion__order"))
    if not said:
        raise Http404
    form = CorrectionForm(said, request.POST or None)
    if request.method == "POST" and form.is_valid():
        asked = save_through(form, lambda: _ask(viewer, it, form))
        if asked is not None:
            done(request, "Asked for. A second person on the staff has to agree.", undo=False)
            return redirect("tryout-marks", pk=pk)
    context = {
        "form": form,
        "title": f"Correct {said[0].mark.panelist}'s marks of {who.called}",
        "lead": "What was first given stays in the history. A second person has to agree before "
        "the new marks count.",
        "button": "Ask for the correction",
        "back": reverse("candidate-marks", args=[pk, candidate_pk]),
    }
    return render(request, "form_page.html", context)


def _ask(viewer: Viewer, tryout: Tryout, form: CorrectionForm) -> Correction:
    return correcting.ask_correction(
        actor=viewer.signed_in,
        tryout=tryout,
        reason=form.cleaned_data["reason"],
        values=form.values,
    )
