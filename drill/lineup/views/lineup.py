"""Who marches: an event's lineup as ranks or on the field."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.offline import is_for_later, keep_copy
from bandops.lib.web.pages import page
from drill.events import queries as event_queries
from drill.events.models import Event, Segment
from drill.events.posted import event_of
from drill.lineup import queries
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork
from drill.lineup.models import Lineup
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.services import drafts
from drill.lineup.services.problem_builder import Built, build, doubtful_in
from drill.lineup.services.set_pictures import set_picture
from drill.lineup.sheets import Seat, Sheets, sheets
from drill.lineup.views.shown import no_lineup_context, shown_lineup
from drill.lineup.wording import level_rows
from drill.shows.queries import dots_of
from roster.people.viewer import Viewer

MENU = "lineup"


@page(rules.staff, MENU)
def who_marches(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The next event's lineup."""
    event = event_queries.next_event(viewer.this_season)
    return redirect("lineup", pk=event.pk) if event else redirect("week")


@page(rules.staff, MENU)
def lineup(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Ranks as rows and spots as cells, or the same on the field."""
    event = event_of(viewer, pk)
    if is_for_later(request) and not (queries.draft(event) or queries.published(event)):
        return HttpResponse(status=204)
    try:
        draft = shown_lineup(viewer, event)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        return render(request, "lineup/no_draft.html", no_lineup_context(event, error))
    laid_out = sheets(draft)
    built = build(event)
    segment = _segment(request, laid_out, built)
    context = {
        "event": event,
        "lineup": draft,
        "last": queries.published(event),
        "sheets": laid_out,
        "segment": segment,
        "tabs": _tabs(laid_out, built),
        "ranks": _ranks(laid_out, segment),
        "stale": drafts.is_stale(draft, built),
        "doubtful": doubtful_in(built),
        "orders": queries.orders(event),
        "chosen": _chosen(request, laid_out),
        "cut_off_passed": past_cut_off(event),
        "may_edit": may_edit_lineup(viewer, event),
        "levels": level_rows(draft),
        "view": "field" if request.GET.get("view") == "field" else "ranks",
    }
    if context["view"] == "field" and segment is not None:
        context |= _field(request, event, draft, laid_out, segment)
    return keep_copy(viewer, render(request, "lineup/lineup.html", context))


def _segment(request: HttpRequest, laid_out: Sheets, built: Built) -> Segment | None:
    """The one asked for, else the first that is not over."""
    wanted = request.GET.get("segment", "")
    for segment in laid_out.segments:
        if str(segment.pk) == wanted:
            return segment
    left = [segment for segment in laid_out.segments if key(segment.pk) not in built.over]
    return next(iter(left or laid_out.segments), None)


def _tabs(laid_out: Sheets, built: Built) -> list[tuple[Segment, int, bool]]:
    """Each segment, its holes, whether it is over."""
    holes = Counter(seat.row.segment_id for seat in laid_out.holes)
    return [(s, holes[s.pk], key(s.pk) in built.over) for s in laid_out.segments]


def _chosen(request: HttpRequest, laid_out: Sheets) -> int | None:
    """The spot whose panel is open: the one of the last action."""
    wanted = request.GET.get("spot", "")
    spots = [line.spot.pk for rank in laid_out.ranks for line in rank.lines]
    return next((pk for pk in spots if str(pk) == wanted), None)


def _ranks(laid_out: Sheets, segment: Segment | None) -> list[dict[str, Any]]:
    """Each rank with its seats in the segment."""
    found = []
    for sheet in laid_out.ranks:
        seats: list[Seat] = [
            seat
            for line in sheet.lines
            for seat in line.seats
            if segment is not None and seat.row.segment_id == segment.pk
        ]
        if seats:
            leads = sheet.leading.get(segment.pk, "") if segment is not None else ""
            found.append({"rank": sheet.rank, "seats": seats, "leads": leads})
    return found


def _field(
    request: HttpRequest, event: Event, draft: Lineup, laid_out: Sheets, segment: Segment
) -> dict[str, Any]:
    version = event_queries.current_versions({segment.show_id or 0}, event).get(
        segment.show_id or 0
    )
    if version is None:
        return {"picture": None, "sets": []}
    sets = list(version.sets.all())
    label = request.GET.get("set", "")
    chosen = next((s for s in sets if s.label == label), sets[0] if sets else None)
    marks = {
        seat.row.spot_id: seat.mark
        for rank in laid_out.ranks
        for line in rank.lines
        for seat in line.seats
        if seat.row.segment_id == segment.pk
    }
    spots = [line.spot for rank in laid_out.ranks for line in rank.lines]
    dots = dots_of(version.show_id, spots)
    picture = set_picture(event, version, chosen.label, marks, dots) if chosen else None
    return {"picture": picture, "sets": sets, "chosen_set": chosen}
