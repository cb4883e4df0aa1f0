"""What all pages of one tryout share: which tryout it is, and the tabs within it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from bandops.lib.web.menu import Item
from roster.people.viewer import Viewer
from roster.tryouts import queries
from roster.tryouts.models import Tryout

MENU = "tryouts"
TABS = (
    ("tryout", "Overview"),
    ("tryout-set-up", "Set-up"),
    ("candidates", "Candidates"),
    ("tryout-plan", "Plan"),
    ("tryout-marks", "Marks"),
    ("tryout-figures", "Figures"),
    ("tryout-decision", "Decision"),
    ("tryout-seating", "Seating"),
)


def tryout_of(viewer: Viewer, pk: int) -> Tryout:
    """A tryout of the current season; 404 for others."""
    return get_object_or_404(queries.tryouts(viewer.this_season), pk=pk)


def show(
    request: HttpRequest, tryout: Tryout, tab: str, template: str, context: dict[str, Any]
) -> HttpResponse:
    """A page of the tryout under one of its tabs."""
    tabs = [Item(title, reverse(name, args=[tryout.pk]), name == tab) for name, title in TABS]
    return render(request, template, {"tryout": tryout, "tabs": tabs} | context)
