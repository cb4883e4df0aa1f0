"""The game-day desk, made for a phone: who drops out, who steps in, and one step back."""

from __future__ import annotations

import uuid
from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.events.posted import event_of
from drill.gameday.core.fills import Choice, seats_of_member
from drill.gameday.enums import ClashState
from drill.gameday.models import Clash, DayChange
from drill.gameday.services import desk as gameday
from drill.gameday.services.desk import Desk
from drill.gameday.wording import choice_words
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
