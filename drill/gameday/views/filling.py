"""Who could step in: for somebody who is out, or at an open spot; and two who change places."""

from __future__ import annotations

import uuid
from collections.abc import Collection, Mapping
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from bandops.lib.web.posted import posted_row
from drill.events.models import Segment
from drill.events.posted import event_of
from drill.gameday.core.fills import Choice, seats_of_member
from drill.gameday.posted import asked_segments, posted_swap
from drill.gameday.queries import clock_to_change
from drill.gameday.services import desk as gameday
from drill.gameday.services import swaps
from drill.gameday.services.arrivals import arrived
from drill.gameday.services.desk import Desk, moves_of
from drill.gameday.services.dressing import Dressing
from drill.gameday.views.requests import ask
from drill.gameday.views.words import late_swap_words
from drill.gameday.wording import choice_words, seat_words
from drill.lineup.core.problem import Seat
from drill.lineup.posted import posted_reason
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.wording import CANNOT, Names, member_change_sentence
from drill.publishing.services.notices import telling_words
from drill.rehearsals.core.presence import Presence
from drill.rehearsals.services.presence import presence_word
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.people.viewer import Viewer
from roster.people.wording import member_label
from roster.ranks import queries as rank_queries

MENU = "desk"


@page(rules.staff, MENU)
def out(request: HttpRequest, viewer: Viewer, pk: int, member_pk: int) -> HttpResponse:
    """The member's spots in the segments chosen, and who could step in."""
    opened = _opened(viewer, pk)
    member = get_object_or_404(people_queries.members(viewer.this_season), pk=member_pk)
    chosen = clock_to_change(opened.event, asked_segments(request.GET)).keys
    seats = seats_of_member(opened.field, key(member.pk), chosen)
    found = gameday.choices_for(opened, seats, key(member.pk))
    context = _page(viewer, opened, chosen, opened.clock.left)
    context |= _choices(opened, seats, found, key(member.pk)) | {"member": member}
    return render(request, "gameday/out.html", context)


@page(rules.staff, MENU)
def open_spot(request: HttpRequest, viewer: Viewer, pk: int, spot_pk: int) -> HttpResponse:
    """A spot where it is open, in the segments chosen, and who could fill it."""
    opened = _opened(viewer, pk)
    spot = get_object_or_404(rank_queries.spots(viewer.this_season), pk=spot_pk)
    chosen = clock_to_change(opened.event, asked_segments(request.GET)).keys
    is_open = {g for g, _ in gameday.open_seats_of(opened, spot.pk, opened.clock.keys)}
    segments = tuple(s for s in opened.clock.left if key(s.pk) in is_open)
    seats = gameday.open_seats_of(opened, spot.pk, chosen)
    found = gameday.choices_for(opened, seats, None)
    context = _page(viewer, opened, chosen, segments)
    context |= _choices(opened, seats, found, None) | {"spot": spot, "elsewhere": _marching(opened)}
    return render(request, "gameday/out.html", context)


@page(rules.staff, MENU)
def swap(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Two members change places: what that does first, then the swap; after the cut-off staff ask
    the director to."""
    if request.method == "POST":
        event, wish = event_of(viewer, pk), posted_swap(request, viewer)
        if not may_edit_lineup(viewer, event):
            return ask(request, viewer, event, wish)
        reason = posted_reason(request)
        outcome = swaps.swap(actor=viewer.signed_in, event=event, wish=wish, reason=reason)
        if outcome.change is None:
            done(request, late_swap_words(wish))
            return redirect("desk-of", pk=event.pk)
        told = telling_words(outcome.change.after)
        done(request, f"{wish.first} and {wish.second} are swapped. {told}")
        return redirect("desk-change", pk=outcome.change.pk)
    opened = _opened(viewer, pk)
    chosen = clock_to_change(opened.event, asked_segments(request.GET)).keys
    members = people_queries.active_members(viewer.this_season)
    sent = {name: request.GET.get(name, "") for name in ("first", "second")}
    pair = {n: posted_row(members, text, "member") for n, text in sent.items() if text}
    context = _page(viewer, opened, chosen, _marching(opened)) | pair
    context["members"] = [(member, member_label(member)) for member in members]
    if len(pair) == 2:
        context |= _planned(opened, pair["first"], pair["second"], chosen)
    return keep_copy(viewer, render(request, "gameday/swap.html", context))


def _opened(viewer: Viewer, pk: int) -> Desk:
    event = event_of(viewer, pk)
    event.season = viewer.this_season
    opened = gameday.open_desk(event)
    if opened is None:
        raise Refused("Nothing is published for this event yet.")
    return opened


def _marching(opened: Desk) -> tuple[Segment, ...]:
    """Segments with places that are not over."""
    return tuple(s for s in opened.clock.left if s.marches)


def _page(
    viewer: Viewer, opened: Desk, chosen: Collection[str], segments: Collection[Segment]
) -> dict[str, Any]:
    """What the desk's choosing pages share; ``segments`` can be chosen from."""
    picked = [s for s in segments if key(s.pk) in chosen]
    return {
        "event": opened.event,
        "lineup": opened.lineup,
        "segments": [(s, s in picked) for s in segments],
        "chosen": ",".join(str(s.pk) for s in picked),
        "only": ", ".join(s.name for s in picked) if len(picked) < len(segments) else "",
        "over": ", ".join(s.name for s in opened.clock.over),
        "key": uuid.uuid4(),
        "may_edit": may_edit_lineup(viewer, opened.event),
        "cut_off_passed": past_cut_off(opened.event),
    }


def _choices(
    opened: Desk, seats: Collection[Seat], found: list[Choice], out: str | None
) -> dict[str, Any]:
    names = Names(opened.event.season_id)
    noted = arrived(opened)
    dressing = Dressing(opened)
    lines = [_line(opened, names, choice, noted, dressing) for choice in found]
    return {
        "undressed": dressing.undressed(tuple(seats), out),
        "seats": [seat_words(seat, names) for seat in seats],
        "panels": [(seat_words(seat, names), *map(int, seat)) for seat in seats],
        "choices": lines,
        "another_instrument": any(line["usual"] for line in lines),
    }


def _line(
    opened: Desk,
    names: Names,
    choice: Choice,
    noted: Mapping[int, Presence],
    dressing: Dressing,
) -> dict[str, Any]:
    member = opened.built.members[choice.member]
    found = noted.get(member.pk, Presence())
    mover = next((m.member for m in choice.moves if m.member != choice.member), None)
    return {
        "member": member,
        "not_here": "" if found.is_here else presence_word(found),
        "mover": opened.built.members[mover] if mover else None,
        "usual": _usual_instruments(opened, choice),
        "words": choice_words(choice, names),
        "lacks": dressing.lacks(
            choice.member, [(m.segment, m.spot) for m in choice.moves if m.member == choice.member]
        ),
        "lacking": [seat_words(seat, names) for seat in choice.lacking],
        "where": ", ".join(dict.fromkeys(names.segment(m.segment) for m in choice.moves))
        if choice.lacking
        else "",
        "moves": " ".join(".".join(move) for move in sorted(moves_of(choice))),
    }


def _usual_instruments(opened: Desk, choice: Choice) -> list[str]:
    """Who of those that move would march on another instrument than usual."""
    found = {
        move.member: usual
        for move in sorted(choice.moves)
        if (usual := opened.built.usual_instrument(move.member, move.spot))
    }
    return [f"{opened.built.members[who]} usually on {usual}" for who, usual in found.items()]


def _planned(
    opened: Desk, first: Member, second: Member, chosen: Collection[str]
) -> dict[str, Any]:
    names = Names(opened.event.season_id)
    planned = swaps.plan_swap(opened, first, second, chosen)
    return {
        "changes": [member_change_sentence(c, names) for c in planned.changes],
        "faults": [
            f"{names.member(who)} cannot march {seat_words(seat, names)}: "
            + ", ".join(CANNOT[reason] for reason in why)
            for who, seat, why in planned.faults
        ],
        "asked": True,
    }
