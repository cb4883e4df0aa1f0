"""Measurements: who is measured, one member's, taking them."""

from __future__ import annotations

import uuid
from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.equipment.core.sizes import Unit
from roster.equipment.forms.people import MeasureForm
from roster.equipment.models import Measurement, Wearer
from roster.equipment.rules import keeps_equipment
from roster.equipment.services import measuring
from roster.equipment.services.staleness import Staleness, staleness
from roster.equipment.views.frame import MENU, member_of, show
from roster.people import queries as people_queries
from roster.people.models import Member, Person
from roster.people.viewer import Viewer

TAB, WHAT = "equipment-measures", "measurements"
ALL, OLD = "all", "old"


@dataclass(frozen=True)
class Row:
    """A member and how old their measurements are."""

    member: Member
    staleness: Staleness


@page(keeps_equipment, MENU)
def measures(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Who is measured and whose are too old; no figure stands here."""
    text, which = request.GET.get("q", "").strip(), request.GET.get("which", ALL)
    members = people_queries.active_members(viewer.this_season)
    if text:
        members = people_queries.search_members(members, text)
    rows = _rows(viewer, list(members))
    to_do = [r for r in rows if r.staleness.is_to_take]
    found = page_of(request, to_do if which == OLD else rows)
    context = {"page": found, "q": text, "which": which, "to_take": len(to_do)}
    return show(request, viewer, TAB, "equipment/measures.html", context)


def _rows(viewer: Viewer, members: Sequence[Member]) -> list[Row]:
    of = staleness([m.person_id for m in members], viewer.this_season.today())
    return [Row(m, of[m.person_id]) for m in members]


@page(keeps_equipment, MENU)
def measure(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One member's measurements; looking at them is noted."""
    member = member_of(viewer, pk)
    person, today = member.person, viewer.this_season.today()
    if request.method == "POST":
        form = MeasureForm(request.POST)
        if form.is_valid() and form.cleaned_data["sizes"]:
            told = form.told()
            measuring.measure(
                actor=viewer.signed_in,
                person=person,
                sizes=told["sizes"],
                day=told["taken_on"],
                key=told["key"],
                growing=told["growing"],
                left_handed=told["left_handed"],
            )
            done(request, f"{member} is measured.")
            fit = request.POST.get("then") == "fit"
            return redirect("equipment-fit-member" if fit else "equipment-measure", pk=pk)
        if form.is_valid():
            form.add_error(None, "Write at least one measurement.")
    else:
        wearer = Wearer.objects.filter(person=person).first() or Wearer()
        known = {"growing": wearer.growing, "left_handed": wearer.left_handed}
        form = MeasureForm(initial=known | {"key": uuid.uuid4(), "taken_on": today})
    record_view(viewer.signed_in, Person._meta.db_table, person.pk, WHAT)
    context = {"member": member, "form": form, "taken": _taken(person)}
    return show(request, viewer, TAB, "equipment/measure.html", context)


def _taken(person: Person) -> list[tuple[Measurement, str]]:
    """Measurements, the newest first, each with the unit it could be reckoned into."""
    other = {Unit.INCH: Unit.CM, Unit.CM: Unit.INCH}
    rows = person.measurements.select_related("taken_by")
    return [(row, other.get(Unit(row.unit), "")) for row in rows[:60]]


@require_POST
@page(keeps_equipment, MENU)
def convert(request: HttpRequest, viewer: Viewer, pk: int, measurement_pk: int) -> HttpResponse:
    """The same in the other unit, on purpose."""
    member = member_of(viewer, pk)
    row = get_object_or_404(Measurement, pk=measurement_pk, person=member.person)
    unit = Unit.CM if row.unit == Unit.INCH else Unit.INCH
    made = measuring.convert(actor=viewer.signed_in, measurement=row, unit=unit)
    done(request, f"{row.words} is {made.words}.")
    return redirect("equipment-measure", pk=pk)


@require_POST
@page(keeps_equipment, MENU)
def remove(request: HttpRequest, viewer: Viewer, pk: int, measurement_pk: int) -> HttpResponse:
    """One that was written down wrong goes."""
    member = member_of(viewer, pk)
    row = get_object_or_404(Measurement, pk=measurement_pk, person=member.person)
    measuring.remove_measurement(actor=viewer.signed_in, measurement=row)
    done(request, "It is removed.")
    return redirect("equipment-measure", pk=pk)
