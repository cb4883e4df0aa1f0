"""Deputies of the director, day by day."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.forms.seasons import DeputyForm
from roster.people.models import Deputy
from roster.people.rules import gives_rights
from roster.people.services import deputies as services
from roster.people.viewer import Viewer

MENU = "roles"


@page(gives_rights, MENU, fresh=True)
def deputies(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who is deputy when; the director names one for a day or a few."""
    season, today = viewer.this_season, viewer.this_season.today()
    day = request.GET.get("day", f"{today}")
    form = DeputyForm(season, request.POST or None, initial={"starts": day, "ends": day})
    if request.method == "POST" and form.is_valid():
        data = form.cleaned_data
        made = save_through(
            form,
            lambda: services.name_deputy(
                actor=viewer.signed_in,
                season=season,
                user=data["user"],
                starts=data["starts"],
                ends=data["ends"] or data["starts"],
            ),
        )
        if made is not None:
            done(request, f"{made.user} is your deputy {made.days}.")
            return redirect("deputies")
    rows = Deputy.objects.filter(season=season).select_related("user", "named_by")
    context = {"form": form, "deputies": rows, "today": today}
    return render(request, "people/deputies.html", context)


@require_POST
@page(gives_rights, MENU, fresh=True)
def end(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The deputy's rights end before their last day."""
    deputy = get_object_or_404(
        Deputy.objects.select_related("user", "named_by"), pk=pk, season=viewer.this_season
    )
    services.end_deputy(actor=viewer.signed_in, deputy=deputy)
    done(request, f"{deputy.user} is no longer your deputy.")
    return redirect("deputies")
