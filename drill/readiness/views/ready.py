"""How ready an event is; who goes without; what to bring; the truck."""

from __future__ import annotations

import uuid

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.outbox.progress import file_response
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.outfits.services.setting import excuse, excuse_no_more
from drill.readiness.pdf import render_bring, render_load
from drill.readiness.rules import sees_readiness
from drill.readiness.services.ready import in_ranks, ready_for
from drill.readiness.services.truck import load, load_list, unload
from roster.equipment.models import Item, Kind
from roster.equipment.rules import keeps_equipment
from roster.people.models import Member
from roster.people.viewer import Viewer

MENU = "readiness"


def event_of(viewer: Viewer, pk: int) -> Event:
    """An event of the season; 404 for none."""
    found = get_object_or_404(event_queries.events(viewer.this_season), pk=pk)
    found.season = viewer.this_season
    return found


@page(sees_readiness, MENU)
def next_event(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The event to come."""
    found = event_queries.next_event(viewer.this_season)
    if found is None:
        return render(request, "readiness/none.html")
    return redirect("readiness", pk=found.pk)


@page(sees_readiness, MENU)
def readiness(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Who marches without what is worn: for the store all of it, for leaders their ranks."""
    event = event_of(viewer, pk)
    ready = ready_for(event)
    keeps = keeps_equipment(viewer)
    rows, backups = ready.rows, ready.backups
    if not keeps:
        mine = [rank.pk for rank in viewer.ranks_led]
        rows, backups = in_ranks(rows, mine), in_ranks(backups, mine)
    context = {
        "event": event,
        "lineup": ready.lineup,
        "worn": list(ready.wardrobe.kinds.values()),
        "rows": rows,
        "backups": backups,
        "keeps": keeps,
        "undressable": sum(not row.is_dressable for row in rows),
        "excused": event.excused.select_related("member__person", "kind") if keeps else (),
        "key": uuid.uuid4,
    }
    return keep_copy(viewer, render(request, "readiness/ready.html", context))


@require_POST
@page(keeps_equipment, MENU)
def excuse_member(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """They wear their own, or march without; or need one after all."""
    event = event_of(viewer, pk)
    members = Member.objects.select_related("person").filter(season=viewer.this_season)
    member = get_object_or_404(members, pk=whole_number(request.POST.get("member", "")) or 0)
    kind = get_object_or_404(Kind, pk=whole_number(request.POST.get("kind", "")) or 0)
    if request.POST.get("back"):
        excuse_no_more(actor=viewer.signed_in, event=event, member=member, kind=kind)
        done(request, f"{member} needs a {kind.name.lower()} after all.")
    else:
        excuse(actor=viewer.signed_in, event=event, member=member, kind=kind)
        done(request, f"{member} needs no {kind.name.lower()} for {event}.")
    return redirect("readiness", pk=pk)


@page(keeps_equipment, MENU)
def truck(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What goes on the truck, ticked off as it is loaded."""
    event = event_of(viewer, pk)
    ready = ready_for(event)
    if request.method == "POST":
        return _ticked(request, viewer, event)
    loads = load_list(ready)
    lines = [line for of in loads for line in of.lines]
    context = {
        "event": event,
        "lineup": ready.lineup,
        "loads": loads,
        "to_load": sum(line.state == "to load" for line in lines),
        "on_truck": sum(line.state == "on the truck" for line in lines),
    }
    return keep_copy(viewer, render(request, "readiness/truck.html", context))


def _ticked(request: HttpRequest, viewer: Viewer, event: Event) -> HttpResponse:
    # A form that waits on a device joins the boxes checked with commas.
    texts = ",".join(request.POST.getlist("item")).split(",")
    wanted = [n for text in texts if (n := whole_number(text)) is not None]
    items = list(Item.objects.filter(pk__in=wanted))
    if not items:
        raise Refused("Check what is loaded or unloaded.")
    if request.POST.get("what") == "back":
        count = unload(actor=viewer.signed_in, event=event, items=items)
        done(request, f"Off the truck: {count}.")
    else:
        count = load(actor=viewer.signed_in, event=event, items=items)
        done(request, f"On the truck: {count} more.")
    return redirect("truck", pk=event.pk)


@page(keeps_equipment, MENU)
def bring_print(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What to bring from the store."""
    made = render_bring(ready_for(event_of(viewer, pk)))
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")


@page(keeps_equipment, MENU)
def load_print(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The load list."""
    made = render_load(ready_for(event_of(viewer, pk)))
    return file_response(made.content, f"{made.name}.pdf", "application/pdf")
