"""Making and naming a show."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.shows.forms.shows import ShowForm
from drill.shows.models import Show
from drill.shows.services import shows as event_services
from drill.shows.services import shows as services
from roster.people.viewer import Viewer

MENU = "drill"


@page(rules.staff, MENU)
def edit_show(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A show's name and the field it is written for."""
    it = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    initial = {"name": it.name, "field_type": it.field_type}
    form = ShowForm(viewer.this_season, request.POST or None, initial=initial)
    title = f"Change {it}"
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: event_services.save_show(actor=viewer.signed_in, show=it, **form.cleaned_data),
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("show", pk=pk)
    lead = "The dots stay where they are; another field only changes the wording."
    back = reverse("show", args=[pk])
    context = {"form": form, "title": title, "lead": lead, "back": back}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def new_show(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """A show by name; its coordinates come with an import."""
    form = ShowForm(viewer.this_season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_show(
                actor=viewer.signed_in,
                show=Show(season=viewer.this_season),
                name=form.cleaned_data["name"],
                field_type=form.cleaned_data["field_type"],
            ),
        )
        if saved is not None:
            done(request, f"{saved} is added. Import its coordinates when you have them.")
            return redirect("show", pk=saved.pk)
    context = {"form": form, "title": "New show", "back": reverse("events")}
    return render(request, "form_page.html", context)
