"""The places of a show: who marches them; added, renamed, removed."""

from __future__ import annotations

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.names import label_key
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from drill import queries
from drill.forms.sets import PlaceForm
from drill.models import Place, Show
from drill.services import places as services
from drill.services.problem_builder import places_of
from drill.views.versions import MENU
from roster import queries as roster
from roster import rules
from roster.viewer import Viewer
from roster.views.access import page


@page(rules.staff, MENU)
def places(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Every place with the spot that marches it; one more is added here."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    form = PlaceForm(Place(show=show), request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.add_place(
                actor=viewer.signed_in, show=show, label=form.cleaned_data["label"]
            ),
        )
        if made is not None:
            done(request, f"Place {made.label} is added; it stands in no set yet.")
            return redirect("places", pk=pk)
    version = queries.current_versions({pk}).get(pk)
    spots = list(roster.spots(viewer.this_season))
    mapped = places_of(pk, spots)
    marched: dict[str, list[str]] = {}
    for spot in spots:
        marched.setdefault(mapped[spot.pk], []).append(spot.label)
    here = Count("positions", filter=Q(positions__set__version=version))
    rows = sorted(show.places.annotate(many=here), key=lambda place: label_key(place.label))
    labels = {place.label for place in rows}
    context = {
        "show": show,
        "version": version,
        "rows": [(place, marched.get(place.label, [])) for place in rows],
        "homeless": [s.label for s in spots if mapped[s.pk] not in labels],
        "form": form,
    }
    return render(request, "drill/versions/places.html", context)


@page(rules.staff, MENU)
def rename_place(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Another label for a place."""
    it = _place(viewer, pk)
    title = f"Rename place {it.label}"
    form = PlaceForm(it, request.POST or None, initial={"label": it.label})
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.rename_place(
                actor=viewer.signed_in, place=it, label=form.cleaned_data["label"]
            ),
        )
        if saved is not None:
            done(request, f"The place is called {saved.label} now.")
            return redirect("places", pk=it.show_id)
    context = {"form": form, "title": title, "back": reverse("places", args=[it.show_id])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_place(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a place that no published lineup needs."""
    it = _place(viewer, pk)
    services.remove_place(actor=viewer.signed_in, place=it)
    done(request, f"Place {it.label} is removed.")
    return redirect("places", pk=it.show_id)


def _place(viewer: Viewer, pk: int) -> Place:
    found = Place.objects.select_related("show__season")
    return get_object_or_404(found, pk=pk, show__season=viewer.this_season)
