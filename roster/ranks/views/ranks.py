"""Ranks, their spots and alternates."""

from __future__ import annotations

from collections import defaultdict

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.person_names import family_name
from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.matrix import Cell, rows_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.enums import AlternatePool
from roster.people.models import Part
from roster.people.viewer import Viewer
from roster.ranks import queries
from roster.ranks.forms import RankForm, SpotForm
from roster.ranks.models import AlternatePlace, Rank, Spot
from roster.ranks.services import alternates, spots

MENU = "ranks"


@page(rules.staff, MENU)
def rank_list(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """All ranks with their spots and alternates."""
    season = viewer.this_season
    spots: dict[int, list[Spot]] = defaultdict(list)
    for spot in queries.spots_with_holders(season):
        spots[spot.rank_id].append(spot)
    alternates: dict[int, list[AlternatePlace]] = defaultdict(list)
    for place in queries.alternates(season):
        alternates[place.rank_id].append(place)
    ranks = [(r, spots[r.pk], alternates[r.pk]) for r in queries.ranks(season)]
    matrix = [row for r, held, _ in ranks for row in rows_of(r.label, [_cell(s) for s in held])]
    return render(request, "ranks/list.html", {"ranks": ranks, "matrix": matrix})


def _cell(spot: Spot) -> Cell:
    """A spot with who holds it."""
    holdings = spot.open_holdings  # type: ignore[attr-defined]
    holder = holdings[0].member.name if holdings else ""
    return Cell(
        spot.label,
        family_name(holder) or "nobody",
        reverse("spot", args=[spot.pk]),
        "" if holder else "hole",
        "" if holder else "nobody holds it",
        f"{holder or 'nobody'}, {spot.part}",
    )


@page(rules.staff, MENU)
def rank(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One rank: spots, holders, alternates in their order."""
    season = viewer.this_season
    it = get_object_or_404(queries.ranks(season), pk=pk)
    groups: dict[Part, list[AlternatePlace]] = defaultdict(list)
    for place in queries.alternates(season).filter(rank=it):
        groups[place.part].append(place)
    context = {
        "rank": it,
        "spots": queries.spots_with_holders(season).filter(rank=it),
        "groups": list(groups.items()),
        "by_rank": season.alternates_by == AlternatePool.RANK,
    }
    return render(request, "ranks/rank.html", context)


@page(rules.staff, MENU)
def edit_rank(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """A new rank, or changes of one."""
    season = viewer.this_season
    it = get_object_or_404(Rank, pk=pk, season=season) if pk else Rank(season=season)
    form = RankForm(season, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: spots.save_rank(actor=viewer.signed_in, rank=form.instance)
        )
        if saved is not None:
            done(request, f"{saved} is saved.")
            return redirect("rank", pk=saved.pk)
    context = {"form": form, "title": str(it) if pk else "New rank", "back": reverse("ranks")}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def new_spot(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One more spot in a rank."""
    it = get_object_or_404(queries.ranks(viewer.this_season), pk=pk)
    last = it.spots.order_by("-number").first()
    form = SpotForm(it, request.POST or None, initial={"number": last.number + 1 if last else 1})
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: spots.save_spot(actor=viewer.signed_in, spot=form.instance)
        )
        if saved is not None:
            done(request, f"Spot {saved} is added.")
            return redirect("rank", pk=pk)
    context = {"form": form, "title": f"New spot in {it}", "back": reverse("rank", args=[pk])}
    return render(request, "form_page.html", context)


@page(rules.staff, MENU)
def spot(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A spot's needs and its history."""
    it = get_object_or_404(queries.spots_with_holders(viewer.this_season), pk=pk)
    form = SpotForm(it.rank, request.POST or None, instance=it)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form, lambda: spots.save_spot(actor=viewer.signed_in, spot=form.instance)
        )
        if saved is not None:
            done(request, f"Spot {saved} is saved.")
            return redirect("rank", pk=saved.rank_id)
    context = {"spot": it, "form": form, "history": queries.spot_history(it)}
    return render(request, "ranks/spot.html", context)


@require_POST
@page(rules.staff, MENU)
def reorder(request: HttpRequest, viewer: Viewer, pk: int, part_pk: int) -> HttpResponse:
    """Give the alternates of a part in the rank's pool the numbers that were typed."""
    season = viewer.this_season
    it = get_object_or_404(Rank, pk=pk, season=season)
    part = get_object_or_404(Part, pk=part_pk, season=season)
    typed = []
    for name in request.POST:
        value = request.POST.get(name, "")
        member_id = lib_forms.whole_number(name.removeprefix("standing-"))
        if name.startswith("standing-") and member_id is not None:
            standing = lib_forms.whole_number(value)
            if standing is None:
                raise Refused(f"“{value}” is not a number: nothing was changed.")
            typed.append((standing, member_id))
    alternates.reorder_alternates(
        actor=viewer.signed_in, rank=it, part=part, member_ids=[pk for _, pk in sorted(typed)]
    )
    if season.alternates_by != AlternatePool.RANK:
        done(request, f"Saved the order of alternates, {part}.")
        return redirect("alternates")
    done(request, f"Saved the order of alternates, {it}, {part}.")
    return redirect("rank", pk=it.pk)
