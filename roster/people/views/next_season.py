"""Starting the next season."""

from __future__ import annotations

import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.forms.seasons import NextSeasonForm
from roster.people.models import Season
from roster.people.rules import gives_rights
from roster.people.services.next_season import Carried, Wanted, start_next_season
from roster.people.ties import EVENTS_TO_COME
from roster.people.viewer import Viewer

MENU = "season"


@page(gives_rights, MENU, fresh=True)
def next_season(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What comes along and what does not, and the start."""
    season = viewer.this_season
    coming = sum(EVENTS_TO_COME.ask(season))
    form = NextSeasonForm(coming, request.POST or None, initial=_proposed(season))
    if request.method == "POST" and form.is_valid():
        wanted = {name: v for name, v in form.cleaned_data.items() if name != "over"}
        actor = viewer.signed_in
        carried = save_through(
            form,
            lambda: start_next_season(actor=actor, season=season, wanted=Wanted(**wanted)),
        )
        if carried is not None:
            done(request, _words(carried))
            return redirect("set-up")
    return render(request, "people/next_season.html", {"form": form, "season": season})


def _proposed(season: Season) -> dict[str, object]:
    """A year later, by the same name with the next number where it has one."""
    name = season.name
    if name.isdigit():
        name = str(int(name) + 1)
    later = datetime.timedelta(days=364)
    return {"name": name, "starts": season.starts + later, "ends": season.ends + later}


def _words(carried: Carried) -> str:
    members = len(carried.members)
    came = f" {members} members came along: each has to be cleared anew." if members else ""
    return f"{carried.new} has begun, with {len(carried.parts)} parts.{came}"
