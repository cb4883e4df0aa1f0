"""Named backups of a spot."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.backups.services import backups as services
from drill.lineup.models import Backup
from drill.lineup.posted import posted_member
from roster.people import queries as people_queries
from roster.people.viewer import Viewer
from roster.ranks import queries as rank_queries

MENU = "backups"


@page(rules.staff, MENU)
def spot_backups(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A spot's backups in order; a new one is named here."""
    season = viewer.this_season
    spot = get_object_or_404(rank_queries.spots(season), pk=pk)
    if request.method == "POST":
        member = posted_member(request, viewer)
        assert member is not None
        services.add_backup(actor=viewer.signed_in, spot=spot, member=member)
        done(request, f"{member} is a backup for {spot} now.")
        return redirect("spot", pk=pk)
    players = people_queries.active_members(season).filter(qualifications__part=spot.part_id)
    context = {
        "spot": spot,
        "backups": Backup.objects.filter(spot=spot).select_related("member__person"),
        "players": players.exclude(holdings__spot=spot, holdings__ends__isnull=True),
    }
    fragment = request.htmx  # type: ignore[attr-defined]
    return render(request, f"backups/{'of_spot' if fragment else 'spot'}.html", context)


@require_POST
@page(rules.staff, MENU)
def change_backup(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Make a backup the first, or take it away."""
    backup = get_object_or_404(
        Backup.objects.select_related("spot__rank", "member__person"),
        pk=pk,
        spot__rank__season=viewer.this_season,
    )
    if request.POST.get("what") == "first":
        services.make_first_backup(actor=viewer.signed_in, backup=backup)
        done(request, f"{backup.member} is the first backup of {backup.spot}.")
    else:
        services.remove_backup(actor=viewer.signed_in, backup=backup)
        done(request, f"{backup.member} is no longer a backup for {backup.spot}.")
    return redirect("spot", pk=backup.spot_id)
