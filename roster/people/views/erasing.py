"""Erasing a person, by the director."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse

from bandops.lib.web.forms import save_through
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people.forms.accounts import EraseForm
from roster.people.models import Member
from roster.people.rules import gives_rights
from roster.people.services import erasing as services
from roster.people.viewer import Viewer


@page(gives_rights, "people", fresh=True)
def erase(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What goes and what stays; the name typed once more does it."""
    who = get_object_or_404(Member.objects.select_related("person", "season"), pk=pk)
    form = EraseForm(who.person.name, request.POST or None)
    if request.method == "POST" and form.is_valid():
        actor, person = viewer.signed_in, who.person
        erased = save_through(form, lambda: services.erase_person(actor=actor, person=person))
        if erased is not None:
            done(request, _words(erased), undo=False)
            return redirect("people")
    is_here = who.season == viewer.this_season
    back = (
        reverse("member", args=[pk]) if is_here else reverse("season-people", args=[who.season_id])
    )
    context = {
        "back": back,
        "member": who,
        "form": form,
        "hindrance": services.hindrance(who.person),
    }
    return render(request, "people/erase.html", context)


def _words(erased: services.Erased) -> str:
    """What was done, in sentences."""
    rows = sum(erased.rows.values())
    text = f"They are erased. Their name and contacts are gone from {rows} more rows"
    text += f", and {erased.prints} prints of their seasons are deleted: make again what you need."
    if erased.left:
        text += f"\nSomebody else has the same, so it stays in other texts: {len(erased.left)}."
    return text
