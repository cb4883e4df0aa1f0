"""The game-day desk, made for a phone: who drops out, who steps in, and one step back."""

from __future__ import annotations

import uuid
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.messages import done
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import allow, page
from bandops.lib.web.posted import posted_key, posted_row, posted_time
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.events.posted import event_of
from drill.gameday.core.fills import Choice, seats_of_member
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash, DayChange
from drill.gameday.services import clashes, fills
from drill.gameday.services import desk as gameday
from drill.gameday.services.desk import Desk, Wish
from drill.gameday.wording import choice_words
from drill.lineup import queries as lineup_queries
from drill.lineup.posted import editable_event, refuse_past_cut_off
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.wording import Names
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.people.viewer import Viewer

MENU = "desk"
OFFLINE_CHOICES = 5


@dataclass(frozen=True)
class Standing:
    """A marcher on the desk's list: where they stand, and whether they are away by now."""

    member: Member
    seats: str
    away: bool


@page(rules.staff, MENU)
def desk(request: HttpRequest, viewer: Viewer, pk: int | None = None) -> HttpResponse:
    """Who marches, rank by rank; a tap on a name says they cannot."""
    event = event_of(viewer, pk) if pk else event_queries.next_event(viewer.this_season)
    opened = None
    if event is not None:
        event.season = viewer.this_season
        opened = gameday.open_desk(event)
    context: dict[str, Any] = {"event": event, "desk": opened}
    if event is not None and opened is not None:
        standing = _standing(opened)
        context |= {
            "lineup": opened.lineup,
            "ranks": _by_rank(opened, standing),
            "open": [s for group in standing.values() for s in group if s.away],
            "back": gameday.who_is_back(opened),
            "clashes": _clashes(event),
            "changes": _changes(event),
            "may_edit": may_edit_lineup(viewer, event),
            "cut_off_passed": past_cut_off(event),
            "offline": _offline(opened, standing),
        }
    return keep_copy(viewer, render(request, "gameday/desk.html", context))


@page(rules.staff, MENU)
def out(request: HttpRequest, viewer: Viewer, pk: int, member_pk: int) -> HttpResponse:
    """All the member's spots of the event at once, and who could step in."""
    event = event_of(viewer, pk)
    opened = gameday.open_desk(event)
    member = get_object_or_404(people_queries.members(viewer.this_season), pk=member_pk)
    if opened is None:
        raise Refused("Nothing is published for this event yet.")
    names = Names(event.season_id)
    found = gameday.choices(opened, member)
    context = {
        "event": event,
        "lineup": opened.lineup,
        "member": member,
        "seats": _seat_words(names, seats_of_member(opened.field, key(member.pk))),
        "choices": [_line(opened, names, choice) for choice in found],
        "key": uuid.uuid4(),
        "may_edit": may_edit_lineup(viewer, event),
    }
    return render(request, "gameday/out.html", context)


@require_POST
@page(rules.staff, MENU)
def fill(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Report, fill and tell in one step."""
    event = editable_event(viewer, pk)
    wish = _wish(request, viewer)
    outcome = fills.fill(actor=viewer.signed_in, event=event, wish=wish)
    if outcome.change is not None:
        who = wish.into or "nobody"
        done(request, f"{wish.out} is out: {who} steps in. The ones it touches are being told.")
        return redirect("desk-change", pk=outcome.change.pk)
    done(request, f"{outcome.clash}: somebody else filled it meanwhile. Decide on the desk.")
    return redirect("desk-of", pk=event.pk)


@page(rules.staff, MENU)
def change(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """What a change did: who stands where now, who was told, slips, and the way back."""
    found = _change(viewer, pk)
    names = Names(found.event.season_id)
    stepped_in = {after for *_, after in found.seats if after}
    ids = stepped_in | {before for _, _, before, _ in found.seats if before}
    slips = Member.objects.filter(pk__in=ids).select_related("person")
    context = {
        "change": found,
        "event": found.event,
        "seats": [
            (f"{names.segment(key(g))} {names.spot(key(s))}", _name(names, b), _name(names, a))
            for g, s, b, a in found.seats
        ],
        "slips": sorted(slips, key=lambda m: m.pk not in stepped_in),
        "notices": found.after.notices.select_related("member__person"),
        "newest": lineup_queries.published(found.event),
        "may_edit": may_edit_lineup(viewer, found.event),
    }
    return render(request, "gameday/change.html", context)


@require_POST
@page(rules.staff, MENU)
def undo(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """Everybody back to where they stood before the change."""
    found = _change(viewer, pk)
    refuse_past_cut_off(viewer, found.event)
    made = fills.undo_change(actor=viewer.signed_in, change=found)
    done(request, f"Taken back. Revision {made.number} is published.")
    return redirect("desk-of", pk=found.event_id)


@require_POST
@page(rules.staff, MENU)
def decide_clash(request: HttpRequest, viewer: Viewer, pk: int) -> HttpResponse:
    """One of two people wanted for a spot."""
    clash = get_object_or_404(
        Clash.objects.select_related("event"), pk=pk, event__season=viewer.this_season
    )
    allow(may_edit_lineup(viewer, clash.event))
    take = request.POST.get("take") == "wanted"
    clashes.decide_clash(actor=viewer.signed_in, clash=clash, take=take)
    done(request, f"{clash.spot}: {clash.wanted if take else clash.standing} marches.")
    return redirect("desk-of", pk=clash.event_id)


def _standing(opened: Desk) -> dict[int, list[Standing]]:
    """Rank id -> who stands in it, in the order of the spots."""
    built = opened.built
    away = {m.key: m.away for m in built.problem.members}
    of: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for (segment, spot), member in sorted(opened.field.seats.items()):
        if member in built.members:
            of[member].append((segment, spot))
    found: dict[int, list[Standing]] = defaultdict(list)
    order = {spot: number for number, spot in enumerate(built.spots)}
    for member, seats in sorted(of.items(), key=lambda item: min(order[s] for _, s in item[1])):
        spots = dict.fromkeys(built.spots[s].label for _, s in seats)
        is_away = any(g in away[member] for g, _ in seats)
        first = min((s for _, s in seats), key=order.__getitem__)
        row = Standing(built.members[member], ", ".join(spots), is_away)
        found[built.spots[first].rank_id].append(row)
    return found


def _by_rank(opened: Desk, standing: dict[int, list[Standing]]) -> list[tuple[str, list[Standing]]]:
    labels = {s.rank_id: str(s.rank) for s in opened.built.spots.values()}
    return [(labels[rank], standing[rank]) for rank in labels if rank in standing]


def _clashes(event: Event) -> list[Clash]:
    rows = Clash.objects.filter(event=event, state=ClashState.OPEN)
    return list(
        rows.select_related(
            "spot__rank", "standing__person", "wanted__person", "member_out__person", "wanted_by"
        )
    )


def _changes(event: Event) -> list[DayChange]:
    rows = DayChange.objects.filter(event=event)
    return list(rows.select_related("before", "after", "member_out__person", "made_by")[:20])


def _offline(opened: Desk, standing: dict[int, list[Standing]]) -> dict[str, Any]:
    """What a phone without network needs to queue a fill: ids, names and the first choices."""
    built = opened.built
    choices = {}
    for row in (row for rows in standing.values() for row in rows):
        found = [c for c in gameday.choices(opened, row.member) if not c.is_chain]
        choices[row.member.pk] = [int(c.member) for c in found[:OFFLINE_CHOICES]]
    used = {m for group in choices.values() for m in group} | set(choices)
    return {
        "event": opened.event.pk,
        "number": opened.lineup.number,
        "fill": reverse("desk-fill", args=[opened.event.pk]),
        "names": {m.pk: m.name for m in built.members.values() if m.pk in used},
        "choices": choices,
    }


def _seat_words(names: Names, seats: tuple[tuple[str, str], ...]) -> list[str]:
    return [f"{names.segment(g)} {names.spot(s)}" for g, s in seats]


def _line(opened: Desk, names: Names, choice: Choice) -> dict[str, Any]:
    mover = next((m.member for m in choice.moves if m.member != choice.member), None)
    member = opened.built.members[choice.member]
    return {
        "member": member,
        "mover": opened.built.members[mover] if mover else None,
        "words": choice_words(choice, names),
        "lacking": _seat_words(names, choice.lacking),
    }


def _wish(request: HttpRequest, viewer: Viewer) -> Wish:
    def member(name: str) -> Member | None:
        text = request.POST.get(name, "")
        rows = Member.objects.filter(season=viewer.this_season).select_related("person")
        return posted_row(rows, text, "member") if text else None

    leaving, seen = member("out"), whole_number(request.POST.get("number", ""))
    if leaving is None or seen is None:
        raise Refused("The form came incomplete: open the desk again.")
    return Wish(
        leaving, member("in"), member("mover"), seen, posted_key(request), posted_time(request)
    )


def _name(names: Names, member: int | None) -> str:
    return names.member(key(member)) if member else "nobody"


def _change(viewer: Viewer, pk: int) -> DayChange:
    rows = DayChange.objects.select_related(
        "event__season", "before", "after", "member_out__person", "made_by", "undone_by", "absence"
    )
    found = rows.filter(pk=pk, event__season=viewer.this_season).first()
    if found is None:
        raise Http404
    return found
