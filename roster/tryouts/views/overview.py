"""The season's tryouts, and one of them at a glance."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from bandops.lib.steps import Step
from bandops.lib.web import rules
from bandops.lib.web.pages import page
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.models import Tryout
from roster.tryouts.rules import panelist_of
from roster.tryouts.services.progress import Counts, counts_of
from roster.tryouts.services.setting_up import what_lacks
from roster.tryouts.views.frame import MENU, show, tryout_of


@page(rules.staff, MENU)
def tryouts(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All tryouts of the season; where there is one, that one."""
    rows = list(queries.tryouts(viewer.this_season))
    if len(rows) == 1 and not request.GET:
        return redirect("tryout", pk=rows[0].pk)
    context = {
        "tryouts": rows,
        "earlier": Tryout.objects.exclude(season=viewer.this_season).exists(),
    }
    return render(request, "tryouts/list.html", context)


@page(rules.staff, MENU)
def tryout(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """How far the tryout is, and what comes next."""
    it = tryout_of(viewer, pk)
    counts = counts_of(it)
    context = {
        "counts": counts,
        "next": _next(it, counts),
        "lacks": [] if it.is_frozen else what_lacks(it),
        "evaluates": panelist_of(viewer, it),
    }
    return show(request, it, "tryout", "tryouts/tryout.html", context)


def _next(tryout: Tryout, counts: Counts) -> Step:
    """The next step in words."""

    def step(label: str, address: str) -> Step:
        return Step(label, reverse(address, args=[tryout.pk]))

    if not tryout.is_frozen and what_lacks(tryout):
        return step("Finish the set-up", "tryout-set-up")
    if not counts.candidates:
        return step("Add candidates", "candidates")
    if counts.without_number:
        return step(f"Give {counts.without_number} numbers", "candidate-numbers")
    if not counts.panelists or not counts.planned:
        return step("Plan who marks whom", "tryout-plan")
    if not tryout.is_frozen:
        return step("Freeze the rules and start judging", "tryout-set-up")
    if tryout.is_open and counts.looks < counts.planned:
        return step(f"{counts.planned - counts.looks} looks to go", "tryout-marks")
    if tryout.is_open:
        return step("Check the marks, then decide", "tryout-marks")
    return step("Decide", "tryout-decision")
