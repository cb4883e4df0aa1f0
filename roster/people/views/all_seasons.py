"""All seasons: which one the pages show, and who was in an earlier one."""

from __future__ import annotations

from django.db.models import Count, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people import queries
from roster.people.forms.seasons import HandOverForm
from roster.people.models import Season
from roster.people.rules import gives_rights
from roster.people.services import seasons as services
from roster.people.viewer import Viewer

MENU, ROLES = "season", "roles"


@page(gives_rights, MENU)
def seasons(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Every season with its size; entries merged into another count once."""
    whole = Q(members__person__merged_into__isnull=True)
    found = Season.objects.annotate(count=Count("members", filter=whole)).order_by("-starts")
    return render(request, "people/seasons.html", {"seasons": found})


@page(gives_rights, MENU, fresh=True)
def make_current(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What it means that the pages show this season, and that they do."""
    season = get_object_or_404(Season, pk=pk)
    if request.method == "POST":
        services.make_current(actor=viewer.signed_in, season=season)
        done(request, f"The pages show {season} now. You can go back on this page.", undo=False)
        return redirect("seasons")
    out = services.without_access(viewer.this_season, season)
    return render(request, "people/show_season.html", {"season": season, "out": out})


@page(gives_rights, MENU)
def people_of(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Who was in the band that season, to be found and, if they ask for it, erased."""
    season = get_object_or_404(Season, pk=pk)
    q = request.GET.get("q", "").replace("\0", " ").strip()
    found = queries.search_members(queries.present(season), q) if q else queries.present(season)
    context = {"season": season, "members": page_of(request, found), "q": q}
    return render(request, "people/season_people.html", context)


@page(gives_rights, ROLES, fresh=True)
def hand_over(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Somebody of the staff directs the band for good."""
    season = viewer.this_season
    form = HandOverForm(season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        actor, user = viewer.signed_in, form.cleaned_data["user"]
        stays = form.cleaned_data["stays"]

        def save() -> bool:
            services.hand_over(actor=actor, season=season, user=user, stays=stays)
            return True

        if save_through(form, save):
            done(request, f"{user} directs the band now.", undo=False)
            return redirect("home")
    return render(request, "people/hand_over.html", {"form": form})
