"""Field and coordinates: how coordinates are written, on which fields, what another field
changes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.ties import merged
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.field import queries
from drill.field.core.field import FIELD_WIDTH, units
from drill.field.core.spoken import feet_words
from drill.field.forms import CustomFieldForm, WritingForm
from drill.field.models import CustomField
from drill.field.services import field as services
from drill.field.services.writing import Writer
from drill.field.ties import FIELD_PAGE
from drill.field.wording import field_label
from roster.people.viewer import Viewer

MENU = "field"
SAMPLE = (-units("19.4"), units(40))
"""a coordinate to show how it reads on each field"""


@dataclass(frozen=True)
class FieldLine:
    """A field of the season with the sample coordinate in its words."""

    name: str
    hashes: str
    sample: str
    off: str
    used: tuple[str, ...]
    own: CustomField | None


@page(rules.staff, MENU)
def field(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Settings of the words, and the fields there are."""
    season = viewer.this_season
    settings = queries.drill_settings(season)
    form = WritingForm(request.POST or None, instance=settings)
    if request.method == "POST" and form.is_valid():
        data, actor = form.cleaned_data, viewer.signed_in
        saved = save_through(
            form, lambda: services.save_writing(actor=actor, season=season, **data)
        )
        if saved is not None:
            done(
                request, "Saved. Coordinates are now written this way; nothing stored has changed."
            )
            return redirect("field")
    context: dict[str, Any] = {"form": form, "lines": _lines(viewer)}
    context |= merged(FIELD_PAGE.ask(season))
    return render(request, "field/field.html", context)


def _lines(viewer: Viewer) -> list[FieldLine]:
    season = viewer.this_season
    style = queries.drill_settings(season).style
    used = services.users_of(season)
    own = {f.name: f for f in CustomField.objects.filter(season=season)}
    found = []
    for name, kind in queries.field_types(season).items():
        writer = Writer(kind, style)
        front, back = feet_words(kind.front_hash), feet_words(FIELD_WIDTH - kind.back_hash)
        hashes = front if front == back else f"front {front}, back {back}"
        users = tuple(used.get(name, ()))
        words, off = writer.coordinate(*SAMPLE), writer.off(*SAMPLE)
        found.append(FieldLine(field_label(name), hashes, words, off, users, own.get(name)))
    return found


@page(rules.staff, MENU)
def edit_custom_field(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A field of the band's own, new or changed."""
    season = viewer.this_season
    it = get_object_or_404(CustomField, pk=pk, season=season) if pk else CustomField(season=season)
    form = CustomFieldForm(it, request.POST or None)
    title = f"Change {it}" if pk else "New field"
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: services.save_custom_field(actor=viewer.signed_in, field=form.instance)
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("field")
    lead = "Only the hashes differ: every field is 160 ft from sideline to sideline."
    context = {"form": form, "title": title, "lead": lead, "back": reverse("field")}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_custom_field(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a field that nothing is on."""
    it = get_object_or_404(CustomField, pk=pk, season=viewer.this_season)
    services.remove_custom_field(actor=viewer.signed_in, field=it)
    done(request, f"{it} is removed.")
    return redirect("field")
