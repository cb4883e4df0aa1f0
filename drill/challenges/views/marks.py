"""An evaluator's marks: two sides, no names."""

from __future__ import annotations

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.challenges.forms import MarksForm
from drill.challenges.models import Challenge, ChallengeCriterion
from drill.challenges.services import marks as services
from drill.challenges.services.challenge_tables import BlindChallenge, blind_challenges
from roster.people.viewer import Viewer

MENU = "marks"


@page(rules.evaluator, MENU)
def marks(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The challenges to mark now, with how far one's own marks have come."""
    found = blind_challenges(viewer.this_season, viewer.signed_in, timezone.now())
    return render(request, "challenges/marks.html", {"challenges": found})


@page(rules.evaluator, MENU)
def challenge_marks(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One challenge's sides and one's own marks; what was typed stays when it cannot be saved."""
    found = blind_challenges(viewer.this_season, viewer.signed_in, timezone.now())
    it = next((c for c in found if c.pk == pk), None)
    if it is None:
        raise Http404
    criteria = ChallengeCriterion.objects.filter(season=viewer.this_season)
    form = MarksForm(criteria, it.marks, request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(form, lambda: _save(viewer, pk, form))
        if saved is not None:
            done(request, f"Challenge {it.number}: {saved} of {it.wanted} marks are saved.")
            after = _next(found, it) if saved == it.wanted else it
            return redirect("challenge-marks", pk=after.pk) if after else redirect("marks")
    context = {"it": it, "form": form, "after": _next(found, it)}
    return render(request, "challenges/challenge_marks.html", context)


def _save(viewer: Viewer, pk: int, form: MarksForm) -> int:
    challenge = get_object_or_404(Challenge, pk=pk, round__season=viewer.this_season)
    return services.save_marks(
        actor=viewer.signed_in, challenge=challenge, given=form.given(), at=timezone.now()
    )


def _next(found: list[BlindChallenge], it: BlindChallenge) -> BlindChallenge | None:
    """The next challenge of the list that is open and not fully marked."""
    at = found.index(it)
    return next((c for c in found[at + 1 :] + found[:at] if c.open and not c.done), None)
