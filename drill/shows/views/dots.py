"""The dots of a show: who marches them; added, renamed, removed."""

from __future__ import annotations

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.names import label_key
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.shows.forms.sets import DotForm
from drill.shows.models import Dot, Show
from drill.shows.queries import dots_of, versions_in_use
from drill.shows.services import dots as services
from drill.shows.views.tabs import tabs_of
from drill.shows.views.versions import MENU
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

A_PAGE = 25


@page(rules.staff, MENU)
def dots(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Every dot with the spot that marches it; one more is added here."""
    show = get_object_or_404(Show, pk=pk, season=viewer.this_season)
    form = DotForm(Dot(show=show), request.POST or None)
    if request.method == "POST" and form.is_valid():
        made = save_through(
            form,
            lambda: services.add_dot(
                actor=viewer.signed_in, show=show, label=form.cleaned_data["label"]
            ),
        )
        if made is not None:
            done(request, f"Dot {made.label} is added; it has no coordinates yet.")
            return redirect("dots", pk=pk)
    version = versions_in_use({pk}).get(pk)
    spots = list(rank_queries.spots(viewer.this_season))
    mapped = dots_of(pk, spots)
    marched: dict[str, list[str]] = {}
    for spot in spots:
        marched.setdefault(mapped[spot.pk], []).append(spot.label)
    here = Count("positions", filter=Q(positions__set__version=version))
    every = sorted(show.dots.annotate(many=here), key=lambda dot: label_key(dot.label))
    labels = {dot.label for dot in every}
    wanted = request.GET.get("q", "").strip().lower()
    found = [dot for dot in every if dot.label.lower().startswith(wanted)]
    shown = Paginator(found, A_PAGE).get_page(request.GET.get("page"))
    context = {
        "show": show,
        "tabs": tabs_of(show, "Dots", version),
        "version": version,
        "rows": [(dot, marched.get(dot.label, [])) for dot in shown.object_list],
        "page": shown,
        "q": wanted,
        "dots": every,
        "spots": spots,
        "mapped": [(s, mapped[s.pk]) for s in spots if mapped[s.pk] != s.label],
        "homeless": [s.label for s in spots if mapped[s.pk] not in labels],
        "form": form,
    }
    return render(request, "shows/dots.html", context)


@page(rules.staff, MENU)
def rename_dot(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Another label for a dot."""
    it = _dot(viewer, pk)
    title = f"Rename dot {it.label}"
    form = DotForm(it, request.POST or None, initial={"label": it.label})
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.rename_dot(
                actor=viewer.signed_in, dot=it, label=form.cleaned_data["label"]
            ),
        )
        if saved is not None:
            done(request, f"The dot is now called {saved.label}.")
            return redirect("dots", pk=it.show_id)
    context = {"form": form, "title": title, "back": reverse("dots", args=[it.show_id])}
    return render(request, "form_page.html", context)


@require_POST
@page(rules.staff, MENU)
def remove_dot(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Remove a dot that no published lineup needs."""
    it = _dot(viewer, pk)
    services.remove_dot(actor=viewer.signed_in, dot=it)
    done(request, f"Dot {it.label} is removed.")
    return redirect("dots", pk=it.show_id)


def _dot(viewer: Viewer, pk: int) -> Dot:
    found = Dot.objects.select_related("show__season")
    return get_object_or_404(found, pk=pk, show__season=viewer.this_season)
