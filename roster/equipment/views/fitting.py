"""Fitting: a whole kind at once, and fitting day, one person at a time."""

from __future__ import annotations

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from bandops.lib.audit.recording import record_view, recorded
from bandops.lib.errors import Refused
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.equipment import queries
from roster.equipment.core.fitting import Fitting, fit_all
from roster.equipment.models import Kind, Measurement
from roster.equipment.rules import keeps_equipment
from roster.equipment.services import issuing, line
from roster.equipment.services.fitting import Built, People, build, needing
from roster.equipment.services.offers import lacking_of, offers_for, proposals
from roster.equipment.services.remarks import to_alter
from roster.equipment.views.frame import MENU, kind_of, member_of, show
from roster.equipment.views.measures import WHAT
from roster.people import queries as people_queries
from roster.people.models import Member, Person
from roster.people.viewer import Viewer

TAB = "equipment-fitting"


@page(keeps_equipment, MENU)
def fitting(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """How many need what, kind by kind."""
    season = viewer.this_season
    members = list(people_queries.active_members(season))
    people = People(members)
    rows = []
    for kind in queries.kinds():
        who = needing(season, kind, members)
        rows.append((kind, len(who), sum(not people.has(m.person_id, kind.pk) for m in who)))
    context = {"rows": rows, "line": queries.waiting_in_line(season).count()}
    return show(request, viewer, TAB, "equipment/fitting.html", context)


@page(keeps_equipment, MENU)
def fit_kind(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The best fitting of a kind: who gets what, who nothing, what to buy."""
    built, fitted = _fitted(viewer, kind_of(pk))
    _note_looks(viewer, list(built.members.values()))
    context = {
        "kind": built.kind,
        "proposed": proposals(built, fitted),
        "lacking": [lacking_of(built, u) for u in fitted.unfitted],
        "left": len(built.items) - len(fitted.given),
        "basis": uuid.uuid4(),
    }
    return show(request, viewer, TAB, "equipment/fit_kind.html", context)


def _fitted(viewer: Viewer, kind: Kind) -> tuple[Built, Fitting]:
    season = viewer.this_season
    members = needing(season, kind)
    built = build(kind, People(members))
    return built, fit_all(built.problem)


def _note_looks(viewer: Viewer, members: list[Member]) -> None:
    """Sizes tell measurements: looking at them is noted once, for the whole list."""
    if members:
        record_view(viewer.signed_in, Measurement._meta.db_table, 0, f"{WHAT} in a fitting")


@require_POST
@page(keeps_equipment, MENU)
def hand_out_all(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The checked pairs of a fitting are handed out, all of them or none."""
    kind = kind_of(pk)
    pairs = [p.split("-") for p in request.POST.getlist("pair")][:2000]
    if not pairs or any(len(p) != 2 or not all(x.isdigit() for x in p) for p in pairs):
        raise Refused("Check who gets their piece now.")
    members = {m.pk: m for m in people_queries.active_members(viewer.this_season)}
    items = {i.pk: i for i in queries.items().filter(kind=kind, pk__in=[int(i) for _, i in pairs])}
    with recorded(viewer.signed_in, "issue"):
        for member, item in ((int(m), int(i)) for m, i in pairs):
            if member not in members or item not in items:
                raise Refused("Something changed since this page: look at it again.")
            issuing.hand_out(
                actor=viewer.signed_in,
                item=items[item],
                member=members[member],
                condition=items[item].condition,
                note=to_alter(items[item], members[member]),
            )
    done(request, f"{len(pairs)} of {kind} are handed out.")
    return redirect("equipment-fit", pk=pk)


@page(keeps_equipment, MENU)
def fitting_line(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Fitting day: who waits, first come first."""
    season = viewer.this_season
    text = request.GET.get("q", "").strip()
    waiting = list(queries.waiting_in_line(season))
    here = {row.member_id for row in waiting}
    members = people_queries.active_members(season)
    found = people_queries.search_members(members, text)[:20] if text else []
    context = {
        "waiting": waiting,
        "q": text,
        "found": [(m, m.pk in here) for m in found],
        "key": uuid.uuid4,
    }
    return show(request, viewer, TAB, "equipment/line.html", context)


@require_POST
@page(keeps_equipment, MENU)
def join_line(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """They wait from now on."""
    member = member_of(viewer, pk)
    line.join_line(actor=viewer.signed_in, member=member, key=uuid.uuid4())
    done(request, f"{member} waits in line.", undo=False)
    return redirect("equipment-line")


@require_POST
@page(keeps_equipment, MENU)
def leave_line(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """They are served, or went away."""
    member = member_of(viewer, pk)
    line.leave_line(actor=viewer.signed_in, member=member)
    done(request, f"{member} is done.")
    following = queries.waiting_in_line(viewer.this_season).first()
    if request.POST.get("on") and following is not None:
        return redirect("equipment-fit-member", pk=following.member_id)
    return redirect("equipment-line")


@page(keeps_equipment, MENU)
def fit_member(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One person: for each kind the best piece now and the next best ones."""
    member = member_of(viewer, pk)
    offers = offers_for(member)
    record_view(viewer.signed_in, Person._meta.db_table, member.person_id, WHAT)
    context = {"member": member, "offers": offers, "key": uuid.uuid4}
    return show(request, viewer, TAB, "equipment/fit_member.html", context)
