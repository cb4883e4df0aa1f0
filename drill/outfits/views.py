"""What an event or a show asks for."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.events.models import Event
from drill.outfits import queries
from drill.outfits.forms import WornForm
from drill.outfits.models import Worn
from drill.outfits.services.setting import set_worn
from drill.shows.models import Show
from roster.equipment.rules import keeps_equipment
from roster.people.viewer import Viewer


@page(keeps_equipment, "readiness")
def of_event(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What is worn at an event."""
    it = get_object_or_404(Event, pk=pk, season=viewer.this_season)
    return _edited(request, viewer, it, it.uniform, reverse("readiness", args=[pk]))


@page(keeps_equipment, "readiness")
def of_show(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What is worn wherever a show is marched, such as its guard costumes."""
    it = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    return _edited(request, viewer, it, "", reverse("readiness-next"))


def _edited(
    request: HttpRequest, viewer: Viewer, it: Event | Show, text: str, then: str
) -> HttpResponse:
    rows = Worn.objects.filter(event=it) if isinstance(it, Event) else Worn.objects.filter(show=it)
    now = list(rows.prefetch_related("instruments"))
    form = WornForm(viewer.this_season, now, text, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: set_worn(actor=viewer.signed_in, of=it, kinds=form.chosen())
        )
        if saved is not None:
            done(request, f"{it}: {len(saved)} kinds are worn.")
            return redirect(then)
    context: dict[str, object] = {"it": it, "form": form, "back": then, "text": text}
    if isinstance(it, Event):
        context["by_show"] = [w for w in queries.worn_at(it, it.segments.all()) if w.show_id]
        context["shows"] = Show.objects.filter(season=viewer.this_season)
    return render(request, "outfits/worn.html", context)
