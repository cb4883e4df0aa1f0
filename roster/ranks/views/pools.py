"""The alternates, pool by pool, and the season's choice of pools."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.enums import AlternatePool
from roster.people.viewer import Viewer
from roster.ranks.services import pools

MENU = "ranks"


@page(rules.staff, MENU)
def alternates(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Every pool in its order; the director looks at another kind of pools before choosing it."""
    season = viewer.this_season
    wanted = request.GET.get("pool", "") if viewer.is_director else ""
    preview = wanted in AlternatePool.values and wanted != season.alternates_by
    context = {
        "season": season,
        "choices": AlternatePool.choices,
        "preview": AlternatePool(wanted) if preview else None,
        "lists": pools.pool_lists(season, wanted if preview else season.alternates_by),
        "seen": pools.fingerprint(season),
        "last": pools.last_change(season) if viewer.is_director else None,
    }
    return render(request, "ranks/alternates.html", context)


@require_POST
@page(rules.director, MENU)
def change_pools(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The season's alternates stand in the pools that were looked at."""
    pool = request.POST.get("pool", "")
    if pool not in AlternatePool.values:
        raise Refused("Choose how alternates are ranked.")
    pools.change_pools(
        actor=viewer.signed_in,
        season=viewer.this_season,
        pool=pool,
        seen=request.POST.get("seen", ""),
    )
    done(request, "Saved. The next proposal for each lineup uses the new order.")
    return redirect("alternates")
