"""Criteria that challenges are rated by."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.challenges.forms import CriterionForm
from drill.challenges.models import ChallengeCriterion
from drill.challenges.services import rounds as round_services
from roster.people.viewer import Viewer

MENU = "challenges"


@page(rules.staff, MENU)
def criteria(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What challenges are marked on; one more is added here."""
    season = viewer.this_season
    form = CriterionForm(season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: round_services.save_criterion(actor=viewer.signed_in, criterion=form.instance),
        )
        if saved is not None:
            done(request, f"“{saved}” is added.")
            return redirect("challenge-criteria")
    rows = ChallengeCriterion.objects.filter(season=season)
    return render(request, "challenges/criteria.html", {"criteria": rows, "form": form})


@page(rules.staff, MENU)
def edit_criterion(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Change what is marked."""
    it = get_object_or_404(ChallengeCriterion, pk=pk, season=viewer.this_season)
    form = CriterionForm(viewer.this_season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: round_services.save_criterion(actor=viewer.signed_in, criterion=form.instance),
        )
        if saved is not None:
            done(request, f"“{saved}” is saved.")
            return redirect("challenge-criteria")
    context = {"form": form, "title": f"Change “{it}”", "back": reverse("challenge-criteria")}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_criterion(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove what was never marked."""
    it = get_object_or_404(ChallengeCriterion, pk=pk, season=viewer.this_season)
    round_services.remove_criterion(actor=viewer.signed_in, criterion=it)
    done(request, f"“{it}” is removed.")
    return redirect("challenge-criteria")


@require_POST
@page(rules.staff, MENU)
def start_criteria(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A sensible set to begin with."""
    added = round_services.add_starters(actor=viewer.signed_in, season=viewer.this_season)
    done(request, f"{added} criteria are added. Change what your band does differently.")
    return redirect("challenge-criteria")
