"""People who may be there twice: listed, merged after a preview, taken apart again."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Model
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.people import queries
from roster.people.forms.merging import TwoMembersForm
from roster.people.models import Person, Season
from roster.people.services import alike, merging
from roster.people.services.merged_values import (
    CHOSEN_OF_MEMBERS,
    CHOSEN_OF_PERSONS,
    differing,
)
from roster.people.viewer import Viewer
from roster.people.wording import told_apart

MENU = "people"


@dataclass(frozen=True)
class Differs:
    """A field of which two entries have two values: one is to be chosen."""

    name: str
    label: str
    stays: str
    goes: str


@page(rules.staff, MENU)
def twice(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who may be there twice, any two by choice, and what was merged."""
    season = viewer.this_season
    form = TwoMembersForm(season, request.GET if "stays" in request.GET else None)
    if form.is_valid():
        two = form.cleaned_data
        return redirect("people-merge", two["stays"].person_id, two["goes"].person_id)
    context = {
        "pairs": alike.pairs(season),
        "merged": queries.merged_people(),
        "form": form,
    }
    return render(request, "people/twice.html", context)


@page(rules.staff, MENU)
def merge(request: HttpRequest, viewer: Viewer, stays_pk: int, goes_pk: int) -> HttpResponse:
    """What merging two entries would do, and doing it."""
    stays, goes = (get_object_or_404(Person, pk=pk) for pk in (stays_pk, goes_pk))
    fields = _differing(viewer.this_season, stays, goes)
    if request.method == "POST":
        merging.merge_people(
            actor=viewer.signed_in,
            stays=stays,
            goes=goes,
            choices={f.name: request.POST.get(f.name, "stays") for f in fields},
        )
        done(request, f"Merged: there is one {stays} now. You can undo it here.", undo=False)
        return redirect("people-twice")
    in_the_way = merging.hindrances(stays, goes)
    stays_name, goes_name = told_apart(stays, goes)
    context = {
        "stays": stays,
        "goes": goes,
        "stays_name": stays_name,
        "goes_name": goes_name,
        "in_the_way": in_the_way,
        "fields": fields,
        "seen": None
        if in_the_way
        else merging.preview(actor=viewer.signed_in, stays=stays, goes=goes),
    }
    return render(request, "people/merge.html", context)


def _differing(season: Season, stays: Person, goes: Person) -> list[Differs]:
    """What has to be chosen: of the persons, and of their memberships of the season."""
    pairs: list[tuple[Model, Model, tuple[str, ...]]] = [(stays, goes, CHOSEN_OF_PERSONS)]
    pairs += [
        (mine, theirs, CHOSEN_OF_MEMBERS)
        for mine, theirs in merging.twins(stays, goes)
        if mine.season_id == season.pk
    ]
    return [
        Differs(
            name,
            str(one._meta.get_field(name).verbose_name),  # type: ignore[union-attr]
            str(getattr(one, name)),
            str(getattr(other, name)),
        )
        for one, other, names in pairs
        for name in differing(one, other, names)
    ]


@require_POST
@page(rules.staff, MENU)
def different(request: HttpRequest, viewer: Viewer, stays_pk: int, goes_pk: int) -> HttpResponse:
    """Two people who only look alike."""
    one, other = (get_object_or_404(Person, pk=pk) for pk in (stays_pk, goes_pk))
    alike.say_different(actor=viewer.signed_in, one=one, other=other)
    done(request, f"{one} and {other} are two people: you won't be asked again.")
    return redirect("people-twice")


@require_POST
@page(rules.staff, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Take a merge back in one step."""
    person = get_object_or_404(Person, pk=pk)
    merging.undo_merge(actor=viewer.signed_in, person=person)
    done(request, f"{person} is a separate entry again, with everything it had.")
    return redirect("people-twice")
