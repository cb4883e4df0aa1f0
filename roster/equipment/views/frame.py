"""What all pages of equipment share: the tabs within."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from bandops.lib.web.menu import Item as Tab
from roster.equipment import queries
from roster.equipment.models import Kind
from roster.equipment.rules import sees_charges
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.people.viewer import Viewer

MENU = "equipment"
TABS = (
    ("equipment", "Overview"),
    ("equipment-desk", "Desk"),
    ("equipment-items", "Items"),
    ("equipment-fitting", "Fitting"),
    ("equipment-measures", "Sizes"),
    ("equipment-work", "Away"),
    ("equipment-out", "Out"),
    ("equipment-charges", "Charges"),
    ("equipment-kinds", "Kinds"),
)


def show(
    request: HttpRequest, viewer: Viewer, tab: str, template: str, context: dict[str, Any]
) -> HttpResponse:
    """A page of equipment under one of its tabs."""
    mine = [t for t in TABS if t[0] != "equipment-charges" or sees_charges(viewer)]
    tabs = [Tab(title, reverse(name), name == tab) for name, title in mine]
    more = {"tabs": tabs, "sees_charges": sees_charges(viewer)}
    return render(request, template, more | context)


def member_of(viewer: Viewer, pk: int) -> Member:
    """A member of the season with what they play; 404 for none."""
    return get_object_or_404(people_queries.present(viewer.this_season), pk=pk)


def kind_of(pk: int) -> Kind:
    """A kind; 404 for none."""
    return get_object_or_404(queries.kinds(), pk=pk)
