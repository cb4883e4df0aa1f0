"""Who marches: an event's lineup as ranks or on the field."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.matrix import Row, rows_of
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
from drill.lineup.services.music import music_not_passed
from drill.lineup.services.problem_builder import Built, build_to_show, doubtful_in
from drill.lineup.services.set_pictures import dot_links, places_in, set_picture
from drill.lineup.sheets import RankSheet, Seat, Sheets, cell_of, sheets_to_show
from drill.lineup.views.shown import no_lineup_context, shown_lineup
from drill.lineup.wording import level_rows
from drill.shows.queries import dots_of
from roster.people.viewer import Viewer

MENU = "lineup"
AS_PLANNED = ("holder", "left-open", "closed-up")
"""marks of seats that nobody has to look at"""


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
    built = build_to_show(event)
    laid_out = sheets_to_show(draft, built.over)
    segment = _segment(request, laid_out, built)
    context: dict[str, Any] = {
        "event": event,
        "lineup": draft,
        "last": queries.published(event),
        "sheets": laid_out,
        "segment": segment,
        "tabs": _tabs(laid_out, built),
        "stale": drafts.is_stale(draft, built),
        "doubtful": doubtful_in(built),
        "unpassed": music_not_passed(built),
        "orders": queries.orders(event),
        "chosen": _chosen(request, laid_out),
        "cut_off_passed": past_cut_off(event),
        "may_edit": may_edit_lineup(viewer, event),
        "levels": level_rows(draft),
        "view": "field" if request.GET.get("view") == "field" else "ranks",
    }
    if segment is not None:
        ranks = _in_segment(laid_out, segment)
        seats = [seat for _, some in ranks for seat in some]
        marks = (mark for seat in seats for mark in seat.mark.split())
        context["counts"] = Counter(mark.replace("-", "_") for mark in marks)
        context["leads"] = [
            (sheet.rank, text) for sheet, _ in ranks if (text := sheet.leading.get(segment.pk, ""))
        ]
        context["to_look_at"] = [seat for seat in seats if seat.mark not in AS_PLANNED]
        if context["view"] == "field":
            context |= _field(request, event, draft, seats, segment)
        else:
            context["matrix"] = _matrix(event, ranks, segment)
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


def _in_segment(laid_out: Sheets, segment: Segment) -> list[tuple[RankSheet, list[Seat]]]:
    """Each rank that marches in the segment, with its seats there."""
    found = []
    for sheet in laid_out.ranks:
        seats = [s for line in sheet.lines for s in line.seats if s.row.segment_id == segment.pk]
        if seats:
            found.append((sheet, seats))
    return found


def _matrix(event: Event, ranks: list[tuple[RankSheet, list[Seat]]], segment: Segment) -> list[Row]:
    """The whole band, marked where something is not as usual."""
    rows: list[Row] = []
    for sheet, seats in ranks:
        cells = [cell_of(seat, _seat_url(event, seat)) for seat in seats]
        rows += rows_of(sheet.rank.label, cells, sheet.leading.get(segment.pk, ""))
    return rows


def _seat_url(event: Event, seat: Seat) -> str:
    return reverse("seat", args=[event.pk, seat.row.segment_id, seat.row.spot_id])


def _field(
    request: HttpRequest, event: Event, draft: Lineup, seats: list[Seat], segment: Segment
) -> dict[str, Any]:
    """The segment's lineup in a set, each dot a link to its spot."""
    show = segment.show_id or 0
    version = event_queries.current_versions({show}, event).get(show)
    if version is None:
        return {"picture": None, "sets": []}
    sets = list(version.sets.all())
    label = request.GET.get("set", "")
    chosen = next((s for s in sets if s.label == label), sets[0] if sets else None)
    if chosen is None:
        return {"picture": None, "sets": sets}
    dots = dots_of(version.show_id, [seat.row.spot for seat in seats])
    marks = {seat.row.spot_id: seat.mark for seat in seats}
    at = places_in(version, chosen.label)
    picture = set_picture(event, version, chosen.label, at, marks, dots)
    links = dot_links(picture, at, seats, dots) if picture else ()
    cells = [(link, cell_of(link.seat, _seat_url(event, link.seat))) for link in links]
    n = sets.index(chosen)
    around = {"before": sets[n - 1] if n else None, "after": next(iter(sets[n + 1 :]), None)}
    return {"picture": picture, "sets": sets, "chosen_set": chosen, "links": cells, **around}
