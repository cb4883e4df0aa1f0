"""Spots protected from challenges for a time."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from drill.challenges.forms import ProtectForm
from drill.challenges.models import ProtectedSpot
from drill.challenges.services import rounds as round_services
from drill.challenges.services.protection import in_force
from roster.people.viewer import Viewer

MENU = "challenges"


def protections_of(viewer: Viewer) -> list[ProtectedSpot]:
    """The protections in force, in the order of spots."""
    rows = in_force(viewer.this_season).select_related("spot__rank", "protected_by")
    return list(rows.order_by("spot__rank__order", "spot__number"))


@page(rules.staff, MENU)
def protected_spots(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Spots staff keep closed to challenges; one more is protected here."""
    form = ProtectForm(viewer.this_season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = save_through(
            form,
            lambda: round_services.protect_spot(
                actor=viewer.signed_in, spot=data["spot"], until=data["until"]
            ),
        )
        if made is not None:
            done(request, _protection_words(made))
            return redirect("protected-spots")
    context = {"form": form, "protections": protections_of(viewer)}
    return render(request, "challenges/protected.html", context)


def _protection_words(made: round_services.Protection) -> str:
    spot, words = made.row.spot, made.row.words
    if made.former in ("", words):
        return f"{spot} is protected {words}."
    return f"{spot} was protected {made.former}, now {words}."


@require_POST
@page(rules.staff, MENU)
def lift_protection(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The spot is open to challenges again."""
    row = get_object_or_404(
        ProtectedSpot.objects.select_related("spot__rank"),
        pk=pk,
        spot__rank__season=viewer.this_season,
    )
    round_services.lift_protection(actor=viewer.signed_in, row=row)
    done(request, f"{row.spot} is no longer protected by staff.")
    return redirect("protected-spots")
