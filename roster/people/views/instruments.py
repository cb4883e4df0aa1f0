"""Instruments and parts."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people import queries
from roster.people.forms.instruments import InstrumentForm, PartForm
from roster.people.models import Instrument, Part
from roster.people.services import instruments as instrument_services
from roster.people.viewer import Viewer

MENU = "ranks"


@page(rules.staff, MENU)
def instruments(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Instruments with their parts and stock."""
    context = {"instruments": queries.instruments(viewer.this_season)}
    return render(request, "people/instruments.html", context)


@page(rules.staff, MENU)
def edit_instrument(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new instrument, or changes of one."""
    season = viewer.this_season
    it = get_object_or_404(Instrument, pk=pk, season=season) if pk else Instrument(season=season)
    form = InstrumentForm(request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: instrument_services.save_instrument(
                actor=viewer.signed_in, instrument=form.instance
            ),
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("instruments")
    title = f"Change {it}" if pk else "New instrument"
    context = {"form": form, "title": title, "back": reverse("instruments")}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def edit_part(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new part, or changes of one."""
    season = viewer.this_season
    it = get_object_or_404(Part, pk=pk, season=season) if pk else Part(season=season)
    form = PartForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: instrument_services.save_part(
                actor=viewer.signed_in,
                part=form.instance,
                also_called=form.cleaned_data["also_called"],
                code_before=form.code_before,
            ),
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("instruments")
    title = f"Change {it}" if pk else "New part"
    context = {"form": form, "title": title, "back": reverse("instruments")}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_part(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a part that nobody plays and no spot needs, and its instrument with the last one."""
    it = get_object_or_404(Part, pk=pk, season=viewer.this_season)
    instrument_services.remove_part(actor=viewer.signed_in, part=it)
    done(request, f"{it} is removed.")
    return redirect("instruments")
