"""Splitting a part: its new parts, then who plays which."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done, refuse
from bandops.lib.web.pages import page
from roster.people.forms.splitting import SplitForm
from roster.people.models import Part
from roster.people.services.splitting import names_of_parts, players_of, split_part
from roster.people.viewer import Viewer

MENU = "ranks"
SUGGESTED = 3
"""numbered parts that are suggested where the instrument has no other"""


@page(rules.staff, MENU)
def split(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The names of the parts first (a form that is only read), then who plays which."""
    parts = Part.objects.select_related("instrument", "season")
    part = get_object_or_404(parts, pk=pk, season=viewer.this_season)
    text = request.POST.get("names") or request.GET.get("names", "")
    context = {"part": part, "names": text or _suggested(part), "form": None}
    if text:
        try:
            names = names_of_parts(text, part)
        except Refused as error:
            refuse(request, error)
        else:
            form = SplitForm(names, *players_of(part), request.POST or None)
            context["form"] = form
            if request.method == "POST" and form.is_valid():
                gone = save_through(
                    form,
                    lambda: split_part(
                        actor=viewer.signed_in,
                        part=part,
                        names=names,
                        of_member=form.of_member(),
                        of_place=form.of_place(),
                    ),
                )
                if gone is not None:
                    left = "" if gone else f" Some still play {part}: split it again for them."
                    done(request, f"{part} is split into {', '.join(names)}.{left}")
                    return redirect("instruments")
    return render(request, "people/split.html", context)


def _suggested(part: Part) -> str:
    """The instrument's other parts, else numbered ones."""
    others = [p.name for p in part.instrument.parts.all() if p.pk != part.pk]
    return "\n".join(others or [f"{part.name} {n}" for n in range(1, SUGGESTED + 1)])
