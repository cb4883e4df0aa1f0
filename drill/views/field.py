"""Field and coordinates: how places are written, on which fields, what another field changes."""

from __future__ import annotations

from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from drill import queries
from drill.core.field import FIELD_WIDTH, units
from drill.core.spoken import feet_words
from drill.drill_words import field_label
from drill.forms.events import ShowForm
from drill.forms.field import CustomFieldForm, WritingForm
from drill.models import CustomField, Show
from drill.services import events as event_services
from drill.services import field as services
from drill.services.refield import SetTexts, ShowTexts, changed_texts
from drill.services.writing import Writer
from drill.views.common import event_of
from roster import rules
from roster.viewer import Viewer
from roster.views.access import page

MENU = "drill"
SAMPLE = (-units("19.4"), units(40))
"""a place to show how it reads on each field"""
FEW = 400
"""so many lines are shown at once; more, a set at a time"""


@dataclass(frozen=True)
class FieldLine:
    """A field of the season with the sample place in its words."""

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
        services.save_writing(actor=viewer.signed_in, season=season, **form.cleaned_data)
        done(request, "From now on coordinates are written so. What is stored stays as it is.")
        return redirect("field")
    context = {"form": form, "lines": _lines(viewer), "shows": Show.objects.filter(season=season)}
    return render(request, "drill/field/field.html", context)


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
        words, off = writer.place(*SAMPLE), writer.off(*SAMPLE)
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
    lead = "A field is what its hashes are: 160 ft from sideline to sideline as all others."
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
    lead = "The places stay where they are; another field changes the words for them."
    back = reverse("show", args=[pk])
    context = {"form": form, "title": title, "lead": lead, "back": back}
    return render(request, "form_page.html", context)


@page(rules.staff, "dates")
def event_texts(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Which coordinates read differently on the event's field, by show, set and place."""
    event = event_of(viewer, pk)
    shows = changed_texts(event)
    chosen = request.GET.get("set", "")
    if sum(show.count for show in shows) > FEW and not chosen:
        chosen = next(str(one.set.pk) for show in shows for one in show.sets)
    context = {
        "event": event,
        "field": field_label(event.field_type),
        "shows": [_show_texts(show, chosen) for show in shows],
        "chosen": chosen,
        "count": sum(show.count for show in shows),
    }
    return render(request, "drill/field/texts.html", context)


def _show_texts(show: ShowTexts, chosen: str) -> tuple[ShowTexts, str, list[SetTexts]]:
    """The show, its own field's name, and the sets to lay out: the chosen one, else all."""
    wanted = [one for one in show.sets if chosen in ("", "all", str(one.set.pk))]
    return show, field_label(show.before.name), wanted
