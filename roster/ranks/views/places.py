"""Where a member belongs: a spot, an alternate's place, or neither."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.web import forms as lib_forms
from bandops.lib.web import rules
from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.ranks.forms import PlaceForm
from roster.ranks.services import holdings as rank_services
from roster.ranks.services import spots

MENU = "people"


@page(rules.staff, MENU)
def member_place(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Give a spot, swap, make an alternate, or take the place away."""
    who = get_object_or_404(people_queries.members(viewer.this_season), pk=pk)
    initial: dict[str, Any] = {"kind": request.GET.get("kind", "hold")}
    spot_id = lib_forms.whole_number(request.GET.get("spot", ""))
    if spot_id is not None:
        initial["spot"] = spot_id
    form = PlaceForm(who, request.POST or None, initial=initial)
    if (
        request.method == "POST"
        and form.is_valid()
        and save_through(form, lambda: _place(form, viewer, who))
    ):
        done(request, f"{who}: saved. The next proposal for each lineup uses it.")
        return redirect("member", pk=who.pk)
    context = {"form": form, "title": f"Place of {who}", "back": reverse("member", args=[pk])}
    return render(request, "form_page.html", context)


def _place(form: PlaceForm, viewer: Viewer, who: Member) -> bool:
    data, actor = form.cleaned_data, viewer.signed_in
    on = data["on"]
    if data["kind"] == "swap":
        rank_services.swap_holders(actor=actor, first=who, second=data["other"], on=on)
    elif data["kind"] == "hold" and spots.open_holding(member=who):
        rank_services.move_holder(actor=actor, member=who, to=data["spot"], on=on)
    elif data["kind"] == "hold":
        rank_services.place_holder(actor=actor, spot=data["spot"], member=who, on=on)
    elif data["kind"] == "alternate":
        rank_services.become_alternate(
            actor=actor, member=who, rank=data["rank"], part=data["part"], on=on
        )
    else:
        rank_services.leave_places(actor=actor, member=who, on=on)
    return True
