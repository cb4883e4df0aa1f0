"""What staff order in a lineup: members placed by hand, pins, blocks, spots left open, who is
out."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import page
from bandops.lib.web.posted import posted_row
from drill.absences.enums import WITHOUT_TIME, AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.events.enums import MARCHING
from drill.events.models import Event, Segment
from drill.events.posted import event_of
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import Change
from drill.lineup.models import Block, OpenSeat, Pin
from drill.lineup.posted import editable_event, posted_member, posted_number, posted_version
from drill.lineup.services import lineups, orders
from drill.lineup.wording import Names, member_change_sentence
from roster.people.viewer import Viewer
from roster.ranks.models import Spot

MENU = "lineup"


@require_POST
@page(rules.staff, MENU)
def start_by_hand(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """A draft without the solver, from the places everybody has."""
    event = editable_event(viewer, pk)
    lineups.start_by_hand(actor=viewer.signed_in, event=event)
    done(request, "Everybody starts in their own spot. Fill the open spots by hand.")
    return redirect("lineup", pk=event.pk)


@require_POST
@page(rules.staff, MENU)
def place(
    request: HttpRequest, viewer: Viewer, pk: int, segment_pk: int, spot_pk: int
) -> HttpResponse:
    """Put a member here by hand, or nobody."""
    event = editable_event(viewer, pk)
    segment = get_object_or_404(Segment, pk=segment_pk, event=event, kind__in=MARCHING)
    spot = get_object_or_404(Spot, pk=spot_pk, rank__season=event.season)
    member = posted_member(request, viewer, optional=True)
    edited = lineups.place_by_hand(
        actor=viewer.signed_in,
        event=event,
        seen_version=posted_version(request),
        segment=segment,
        spot=spot,
        member=member,
        seen_number=posted_number(request),
    )
    if edited.changes or edited.emptied:
        done(request, f"{spot} in {segment}: {member or 'nobody'}.{_what_changed(event, edited)}")
    else:
        stands = f"{member} is at {spot}" if member else f"{spot} is empty"
        done(request, f"{stands} in {segment} already: nothing changed.")
    return _shown(event, segment, spot.pk)


@require_POST
@page(rules.staff, MENU)
def swap(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Two members change places, in one segment or in all."""
    event = editable_event(viewer, pk)
    first = posted_member(request, viewer, name="first")
    second = posted_member(request, viewer, name="second")
    assert first is not None and second is not None
    marching = event.segments.filter(kind__in=MARCHING)
    scope = request.POST.get("scope", "")
    over = lineup_queries.segments_over(event)
    left = [segment for segment in marching if segment.pk not in over]
    segments = left if scope == "event" else [posted_row(marching, scope, "segment")]
    edited = lineups.swap_by_hand(
        actor=viewer.signed_in,
        event=event,
        seen_version=posted_version(request),
        segments=segments,
        first=first,
        second=second,
        seen_number=posted_number(request),
    )
    done(request, f"{first} and {second} are swapped.{_what_changed(event, edited)}")
    return _shown(event, segments[0], request.POST.get("spot", ""))


def _what_changed(event: Event, edited: lineups.Edited) -> str:
    """Who moves and what was emptied besides, a line each."""
    names = Names(event.season_id)
    lines = [f"{member_change_sentence(change, names)}." for change in edited.changes]
    filled = {(change.segment, change.after) for change in edited.changes}
    for change in edited.changes:
        if change.change is Change.MOVES and (change.segment, change.before) not in filled:
            opened = f"{names.spot(change.before or '')} in {names.segment(change.segment)}"
            lines.append(f"{opened} is open now.")
    for where, emptied in edited.emptied:
        seat = f"{names.spot(emptied)} in {names.segment(where)}"
        lines.append(f"Also emptied {seat}: its member cannot march.")
    return "".join(f"\n{line}" for line in lines)


def _shown(event: Event, segment: Segment, spot: object) -> HttpResponse:
    """The lineup where the action was: its segment, and the panel of its spot."""
    where = urlencode({"segment": segment.pk, "spot": spot})
    return redirect(f"{reverse('lineup', args=[event.pk])}?{where}")


@require_POST
@page(rules.staff, MENU)
def order(
    request: HttpRequest, viewer: Viewer, pk: int, segment_pk: int, spot_pk: int
) -> HttpResponse:
    """Pin or block a member here, or leave the spot open by choice; then the new proposal."""
    event = editable_event(viewer, pk)
    whole = request.POST.get("scope", "event") == "event"
    segment = get_object_or_404(Segment, pk=segment_pk, event=event, kind__in=MARCHING)
    spot = get_object_or_404(Spot, pk=spot_pk, rank__season=event.season)
    where, actor = (None if whole else segment), viewer.signed_in
    what = request.POST.get("what")
    if what == "open":
        orders.leave_open(actor=actor, event=event, segment=where, spot=spot)
    elif what in ("pin", "block"):
        member = posted_member(request, viewer)
        assert member is not None
        act = orders.pin_member if what == "pin" else orders.block_member
        act(actor=actor, event=event, segment=where, spot=spot, member=member)
    else:
        raise Refused("Choose what to do.")
    done(request, "Saved. This is the new proposal.")
    return redirect("proposal", pk=event.pk)


@require_POST
@page(rules.staff, MENU)
def lift(request: HttpRequest, viewer: Viewer, pk: int, kind: str, order_pk: int) -> HttpResponse:
    """Take an order back; then the new proposal."""
    event = editable_event(viewer, pk)
    models: dict[str, type[Pin] | type[Block] | type[OpenSeat]] = {
        "pin": Pin,
        "block": Block,
        "openseat": OpenSeat,
    }
    if kind not in models:
        raise Http404
    found: Pin | Block | OpenSeat = get_object_or_404(models[kind], pk=order_pk, event=event)  # type: ignore[assignment]
    orders.lift_order(actor=viewer.signed_in, order=found)
    done(request, "Lifted. This is the new proposal.")
    return redirect("proposal", pk=event.pk)


@require_POST
@page(rules.staff, MENU)
def mark_out(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Somebody cannot march this event; the new proposal shows what follows."""
    event = event_of(viewer, pk)
    member = posted_member(request, viewer)
    assert member is not None
    kind = request.POST.get("kind", AbsenceKind.OUT)
    if kind not in WITHOUT_TIME:
        raise Refused("Choose out, limited or doubtful.")
    values: dict[str, Any] = {"kind": kind, "event": event}
    if request.POST.get("scope") == "segment":
        text = request.POST.get("segment", "")
        values["segment"] = posted_row(event.segments.all(), text, "segment")
    report_absence(actor=viewer.signed_in, report=Report(member, values), by_staff=True)
    when = f"{values['segment']} of {event}" if "segment" in values else str(event)
    done(request, f"{member} is {AbsenceKind(kind).label} for {when}. This is what moves.")
    return redirect("proposal", pk=event.pk)
