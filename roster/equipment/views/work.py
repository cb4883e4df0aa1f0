"""Repair, alteration, cleaning: tickets, what is out together, inspections."""

from __future__ import annotations

from collections.abc import Iterable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web.forms import save_through
from bandops.lib.web.lists import page_of
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from roster.equipment import queries
from roster.equipment.enums import ItemState
from roster.equipment.forms.work import (
    CloseTicketForm,
    CountForm,
    InspectionForm,
    RunForm,
    default_due,
    tags_in,
)
from roster.equipment.models import Inspection, Item, Kind, Run, Ticket
from roster.equipment.models.items import tag_key
from roster.equipment.rules import keeps_equipment
from roster.equipment.services import work as services
from roster.equipment.services.fitting import People, build, fitting_as_they_are
from roster.equipment.views.frame import MENU, kind_of, show
from roster.equipment.wording import late_words, size_of
from roster.people.models import Member
from roster.people.viewer import Viewer

TAB = "equipment-work"
SUBSTITUTES = 3


@page(keeps_equipment, MENU)
def work(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Everything that is away, the most urgent first."""
    season = viewer.this_season
    today = season.today()
    inspection = queries.next_inspection(season, today)
    found = page_of(request, queries.open_tickets())
    rows = [(t, next(iter(t.item.out), None), late_words(t, today, inspection)) for t in found]
    context = {
        "page": found,
        "rows": rows,
        "runs": queries.runs()[:10],
        "inspection": inspection,
        "inspections": Inspection.objects.filter(season=season),
        "today": today,
    }
    return show(request, viewer, TAB, "equipment/work.html", context)


@page(keeps_equipment, MENU)
def ticket(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One piece of work: take it back, or find its wearer something else meanwhile."""
    it = get_object_or_404(queries.open_tickets(), pk=pk)
    form = CloseTicketForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        closed = save_through(
            form,
            lambda: services.close_ticket(
                actor=viewer.signed_in,
                ticket=it,
                condition=form.cleaned_data["condition"],
                cents=form.cleaned_data["cents"],
            ),
        )
        if closed is not None:
            done(request, f"{it.item} is back.")
            return redirect(TAB)
    issue = queries.with_whom(it.item)
    context = {
        "ticket": it,
        "form": form,
        "issue": issue,
        "substitutes": _substitutes(it, issue.member) if issue else [],
    }
    return show(request, viewer, TAB, "equipment/ticket.html", context)


def _substitutes(ticket: Ticket, wearer: Member) -> list[tuple[Item, str]]:
    """Pieces in store that fit the wearer as they are."""
    built = build(kind_of(ticket.item.kind_id), People([wearer]), every=True)
    found = fitting_as_they_are(built, wearer)[:SUBSTITUTES]
    return [(item, size_of(item)) for item, _ in found]


@page(keeps_equipment, MENU)
def new_run(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """Several items go out together."""
    season = viewer.this_season
    due = services.due_by_default(season, season.today())
    form = RunForm(request.POST or None, initial=default_due(due))
    if request.method == "POST" and form.is_valid():
        told = form.cleaned_data
        sent = save_through(
            form,
            lambda: services.send_out(
                actor=viewer.signed_in,
                work=told["work"],
                place=told["place"],
                items=_chosen(told["kinds"], told["tags"], told["whose"] == "all"),
                due=told["due"],
            ),
        )
        if sent is not None:
            done(request, f"{sent.tickets.count()} items went to {sent.place}.")
            return redirect("equipment-run", pk=sent.pk)
    context = {"form": form, "title": "Send items out", "back": reverse(TAB), "button": "Send out"}
    return render(request, "form_page.html", context)


def _chosen(kinds: Iterable[Kind], tags: str, theirs: bool) -> list[Item]:
    """All items of the kinds that are in store (``theirs``: or with members), and those of the
    tags; Refused for a tag nobody knows."""
    at_hand = [ItemState.IN_STORE, *([ItemState.ISSUED] if theirs else [])]
    found = {i.pk: i for i in Item.objects.filter(kind__in=list(kinds), state__in=at_hand)}
    wanted = {tag_key(t): t for t in tags_in(tags)}
    rows = {i.tag_key: i for i in Item.objects.filter(tag_key__in=list(wanted))}
    unknown = [tag for key, tag in wanted.items() if key not in rows]
    if unknown:
        raise Refused("No item has these tags.", tuple(unknown[:40]))
    return list((found | {i.pk: i for i in rows.values()}).values())


@page(keeps_equipment, MENU)
def run(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What went out together: count what comes back; what is missing is named with its wearer."""
    it = get_object_or_404(Run, pk=pk)
    form = CountForm(request.POST or None)
    counted = None
    away = it.tickets.filter(closed_at__isnull=True).select_related("item__kind")
    if request.method == "POST" and form.is_valid():
        tags = tags_in(form.cleaned_data["tags"])
        if form.cleaned_data["all"]:
            tags = [t.item.tag for t in away]
        counted = services.count_back(actor=viewer.signed_in, run=it, tags=tags)
        done(request, f"{len(counted.back)} came back.")
        form = CountForm()
        it.refresh_from_db()
    left = services.with_wearers([t.item for t in away.all()])
    gone = it.tickets.filter(item__state=ItemState.MISSING).select_related("item__kind")
    lost = [t.item for t in gone]
    context = {
        "run": it,
        "form": form,
        "counted": counted,
        "left": left,
        "lost": services.with_wearers(lost),
        "sent": it.tickets.count(),
    }
    return show(request, viewer, TAB, "equipment/run.html", context)


@require_POST
@page(keeps_equipment, MENU)
def close_run(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Nothing more comes back."""
    lost = services.close_run(actor=viewer.signed_in, run=get_object_or_404(Run, pk=pk))
    done(request, f"Missing now: {', '.join(i.tag for i in lost)}.")
    return redirect("equipment-run", pk=pk)


@page(keeps_equipment, MENU)
def new_inspection(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """One more day on which everything has to be right."""
    form = InspectionForm(viewer.this_season, request.POST or None)
    if request.method == "POST" and form.is_valid():
        saved = save_through(
            form,
            lambda: services.save_inspection(actor=viewer.signed_in, inspection=form.instance),
        )
        if saved is not None:
            done(request, f"{saved} is set.")
            return redirect(TAB)
    context = {"form": form, "title": "New inspection", "back": reverse(TAB)}
    return render(request, "form_page.html", context)


@require_POST
@page(keeps_equipment, MENU)
def remove_inspection(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """It does not take place."""
    it = get_object_or_404(Inspection, pk=pk, season=viewer.this_season)
    services.remove_inspection(actor=viewer.signed_in, inspection=it)
    done(request, f"{it} is removed.")
    return redirect(TAB)
