"""Who marches: the draft, its proposal and one seat."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.pages import allow, page
from drill.events import queries as event_queries
from drill.events.enums import MARCHING
from drill.events.models import Event, Segment
from drill.events.posted import event_of
from drill.field.wording import load_words
from drill.lineup import queries
from drill.lineup.core.problem import Level, Origin
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork
from drill.lineup.models import Lineup
from drill.lineup.posted import posted_version
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.services import lineups
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import (
    Proposal,
    against,
    against_own_places,
    propose,
    seat_candidates,
)
from drill.lineup.services.set_pictures import set_picture
from drill.lineup.sheets import Seat, Sheets, sheets
from drill.lineup.views.orders import MARKED
from drill.lineup.wording import (
    LEVELS,
    NOT_ALONG,
    WHY_NOT,
    Names,
    cure_sentence,
    level_rows,
    member_change_sentence,
    price_text,
)
from drill.shows.queries import places_of
from roster.people.viewer import Viewer
from roster.ranks.models import Spot

MENU = "lineup"
FAULTS = {
    "cannot march": "{member} is pinned to {spot} in {segment} but cannot march it",
    "two members pinned to one seat": "two members are pinned to {spot} in {segment}",
    "one member pinned to two seats of a segment": "{member} is pinned twice in {segment}",
    "the seat is left open": "{spot} in {segment} is left open and has a pin",
    "pins need more instruments than there are": "the pins in {segment} need more instruments "
    "than there are",
    "pins need more people than may travel": "the pins and must-travel people exceed the limit",
}


@page(rules.staff, MENU)
def who_marches(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The next event's lineup."""
    event = event_queries.next_event(viewer.this_season)
    return redirect("lineup", pk=event.pk) if event else redirect("week")


@page(rules.staff, MENU)
def lineup(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Ranks as rows and spots as cells, or the same on the field."""
    event = event_of(viewer, pk)
    try:
        draft = _shown(viewer, event)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        return render(request, "lineup/no_draft.html", _trouble(event, error))
    laid_out = sheets(draft)
    segment = _segment(request, laid_out)
    context = {
        "event": event,
        "lineup": draft,
        "last": queries.published(event),
        "sheets": laid_out,
        "segment": segment,
        "tabs": [
            (s, sum(seat.row.segment_id == s.pk for seat in laid_out.holes))
            for s in laid_out.segments
        ],
        "ranks": _ranks(laid_out, segment),
        "stale": lineups.is_stale(draft, build(event)),
        "orders": queries.orders(event),
        "cut_off_passed": past_cut_off(event),
        "may_edit": may_edit_lineup(viewer, event),
        "levels": level_rows(draft),
        "view": "field" if request.GET.get("view") == "field" else "ranks",
    }
    if context["view"] == "field" and segment is not None:
        context |= _field(request, event, draft, laid_out, segment)
    return render(request, "lineup/lineup.html", context)


def _shown(viewer: Viewer, event: Event) -> Lineup:
    """The draft, else the last revision, else a new draft for those who may make one."""
    shown = queries.draft(event) or queries.published(event)
    if shown is not None:
        return shown
    if not may_edit_lineup(viewer, event):
        raise Refused("The cut-off has passed: only the director makes this lineup now.")
    return lineups.open_draft(actor=viewer.signed_in, event=event)


def _segment(request: HttpRequest, laid_out: Sheets) -> Segment | None:
    wanted = request.GET.get("segment", "")
    for segment in laid_out.segments:
        if str(segment.pk) == wanted:
            return segment
    return laid_out.segments[0] if laid_out.segments else None


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
            found.append({"rank": sheet.rank, "seats": seats})
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
    places = places_of(version.show_id, spots)
    picture = set_picture(event, version, chosen.label, marks, places) if chosen else None
    return {"picture": picture, "sets": sets, "chosen_set": chosen}


@page(rules.staff, MENU)
def seat(
    request: HttpRequest, viewer: Viewer, pk: int, segment_pk: int, spot_pk: int
) -> HttpResponse:
    """One seat: who could march it, best first, and why not others."""
    event = event_of(viewer, pk)
    segment = get_object_or_404(Segment, pk=segment_pk, event=event, kind__in=MARCHING)
    spot = get_object_or_404(
        Spot.objects.select_related("rank", "part"), pk=spot_pk, rank__season=event.season
    )
    shown = _shown(viewer, event)
    laid_out = sheets(shown, {spot.rank_id})
    mine = _seat_of(laid_out, segment, spot)
    built = build(event)
    names = laid_out.names
    could, could_not, trouble = _candidates(built, segment, spot, names)
    context = {
        "event": event,
        "segment": segment,
        "spot": spot,
        "lineup": shown,
        "seat": mine,
        "why": laid_out.why(mine) if mine and mine.word else "",
        "cures": [cure_sentence(c, names) for c in mine.row.reason.get("cures", [])]
        if mine and mine.row.member is None
        else [],
        "could": could,
        "could_not": could_not,
        "trouble": trouble,
        "orders": [o for group in queries.orders(event) for o in group if o.spot_id == spot.pk],
        "may_edit": may_edit_lineup(viewer, event),
        "kinds": MARKED,
    }
    return render(request, "lineup/seat.html", context)


def _seat_of(laid_out: Sheets, segment: Segment, spot: Spot) -> Seat | None:
    for rank in laid_out.ranks:
        for line in rank.lines:
            for one in line.seats:
                if (one.row.segment_id, one.row.spot_id) == (segment.pk, spot.pk):
                    return one
    return None


def _candidates(
    built: Built, segment: Segment, spot: Spot, names: Names
) -> tuple[list[dict[str, Any]], list[dict[str, Any]], list[str]]:
    where = (key(segment.pk), key(spot.pk))
    try:
        found = seat_candidates(built, where)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        return [], [], _trouble(built.event, error)["faults"]
    could, could_not = [], []
    for candidate in found:
        row: dict[str, Any] = {
            "member": built.members[candidate.member],
            "stands_at": names.spot(candidate.stands_at),
            "proposed": candidate.stands_at == where[1],
        }
        if candidate.why_not:
            words = WHY_NOT | (NOT_ALONG if candidate.member in built.at_home else {})
            row["why_not"] = ", ".join(words[r] for r in candidate.why_not)
            could_not.append(row)
            continue
        load = built.load(candidate.member, where[1], where[0])
        if load is not None and load.total:
            row["load"] = load_words(
                load.new, load.total, load.largest, load.largest_set, names.style
            )
            row["learns"] = load.new > 0
        other = candidate.alternative
        if other is not None:
            row["price"] = price_text(other.price)
            row["also"] = [
                member_change_sentence(c, names)
                for c in other.changes
                if c.member != candidate.member
            ]
            left = candidate.stands_at
            if left is not None and other.lineup.at(where[0], left).member is None:
                row["also"].append(f"{names.spot(left)} becomes a hole")
        could.append(row)
    return could, could_not, []


@page(rules.staff, MENU)
def proposal(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """The solver's lineup against the draft, and the answers beside the answer."""
    event = event_of(viewer, pk)
    if request.method == "POST":
        allow(may_edit_lineup(viewer, event))
        lineups.take_proposal(
            actor=viewer.signed_in,
            event=event,
            seen_version=posted_version(request),
            digest=request.POST.get("digest", ""),
        )
        done(request, "The proposal is the draft now.")
        return redirect("lineup", pk=event.pk)
    built = build(event)
    try:
        answer = propose(built)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        return render(request, "lineup/no_draft.html", _trouble(event, error))
    shown = queries.draft(event) or queries.published(event)
    context = _proposal_context(built, answer, shown)
    context |= {"event": event, "may_edit": may_edit_lineup(viewer, event)}
    return render(request, "lineup/proposal.html", context)


def _proposal_context(built: Built, made: Proposal, shown: Lineup | None) -> dict[str, Any]:
    names = Names(built.event.season_id)
    changes = against(shown, made.answer) if shown else against_own_places(made)
    is_draft = shown is not None and shown.number is None
    return {
        "answer": made.answer,
        "version": shown.version if shown is not None and is_draft else 1,
        "digest": built.problem_hash,
        "changes": [member_change_sentence(c, names) for c in changes],
        "holes": [
            f"{names.segment(p.segment)} {names.spot(p.spot)}"
            for p in made.answer.placements
            if p.origin is Origin.HOLE
        ],
        "levels": [
            (LEVELS[r.level], r.value, r.proven, r.bound)
            for r in made.answer.levels
            if r.level is not Level.TIE
        ],
        "beside": [
            (
                title,
                option,
                price_text(option.price) if option else "",
                option and len(option.changes),
            )
            for title, option in (
                ("Moving no holder", made.without_moves),
                ("With at most one chain", made.one_chain),
            )
            if made.answer.value(Level.MOVED)
        ],
        "shown": shown,
        "undone": _undone(shown, made) if shown is not None and is_draft else [],
    }


def _undone(draft: Lineup, made: Proposal) -> list[str]:
    """What was placed by hand and would not stay."""
    answer = {(p.segment, p.spot): p.member for p in made.answer.placements}
    rows = queries.rows(draft).filter(by_hand=True)
    return [
        f"{row.segment} {row.spot}: {row.member or 'nobody'}"
        for row in rows
        if answer.get((key(row.segment_id), key(row.spot_id)))
        != (key(row.member_id) if row.member_id else None)
    ]


def _trouble(event: Event, error: Exception) -> dict[str, Any]:
    """Why there is no lineup, in words."""
    names = Names(event.season_id)
    faults = []
    if isinstance(error, ContradictoryPins):
        for fault in error.faults:
            text = FAULTS[fault.code.value]
            faults.append(
                text.format(
                    member=names.member(fault.member or None),
                    spot=names.spot(fault.spot or None),
                    segment=names.segment(fault.segment or None),
                )
            )
    elif isinstance(error, OutOfWork):
        faults.append("The solver found no lineup in the work it may spend. Place by hand.")
    else:
        faults.append("No lineup keeps all rules: look at the travel limit and must-travel people.")
    return {"event": event, "faults": faults, "orders": queries.orders(event)}
