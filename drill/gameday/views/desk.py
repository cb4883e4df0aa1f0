"""The game-day desk, made for a phone: who drops out, who steps in, and one step back."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from bandops.lib.audit.unchanged import while_unchanged
from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.offline import keep_copy
from bandops.lib.web.pages import page
from drill.absences.queries import reported_absences
from drill.events import queries as event_queries
from drill.events.models import Event
from drill.events.posted import event_of
from drill.gameday.services import desk as gameday
from drill.gameday.services import requests
from drill.gameday.services.arrivals import NotHere, RankNotHere, arrived, not_here, still_late
from drill.gameday.services.changes_list import changes_list
from drill.gameday.services.desk import Back, Desk
from drill.gameday.services.missing import Missing, missing, word_of
from drill.gameday.services.openings import left_open_spots, open_spots
from drill.gameday.services.putting_back import opens_key, would_open
from drill.gameday.services.to_decide import to_decide
from drill.gameday.views.kept import kept_choices
from drill.gameday.wording import seats_words
from drill.lineup.rules import may_edit_lineup, past_cut_off
from drill.lineup.services.leading import leading_lines, leading_to_show
from drill.lineup.services.problem_builder import doubtful_in
from drill.lineup.wording import Names
from drill.publishing.services.slips import count_slips
from drill.rehearsals.services.rehearsals import is_open
from roster.people.models import Member
from roster.people.viewer import Viewer

MENU = "desk"


@dataclass(frozen=True)
class Standing:
    """A marcher at the desk's list: where they stand, and whether they are 'out' or 'doubtful' by
    now."""

    member: Member
    seats: str
    word: str


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
        standing, names = _standing(opened), Names(event.season_id)
        gone = missing(opened)
        here = {pk for pk, found in arrived(opened).items() if found.is_here}
        context |= {
            "lineup": opened.lineup,
            "ranks": _by_rank(opened, standing),
            "missing": [(m, seats_words(m.seats, names), m.member.pk in here) for m in gone],
            "still_out": {m.member.pk for m in gone if m.word == "out" and m.reported},
            "doubtful": doubtful_in(opened.built),
            "late": [(one, seats_words(one.seats, names)) for one in still_late(opened)],
            "noting": is_open(event),
            "to_decide": reported_absences(viewer.this_season).count(),
            "not_here": _not_here(opened, names),
            "open": open_spots(opened),
            "left_open": left_open_spots(opened),
            "back": _back(opened),
            "under_way": opened.clock.under_way(event),
            "clashes": to_decide(event),
            **_requests(viewer, event, opened),
            "changes": changes_list(event),
            "slip_count": count_slips(event),
            "may_edit": may_edit_lineup(viewer, event),
            "cut_off_passed": past_cut_off(event),
            "offline": _kept(opened, _people(opened, gone), names) | _asked_offline(viewer, event),
        }
    return keep_copy(viewer, render(request, "gameday/desk.html", context))


def _kept(opened: Desk, standing: list[Member], names: Names) -> dict[str, Any]:
    """The choices for a phone without a signal; made anew only when something was written."""
    standing_now = ("kept choices", opened.lineup.pk, opened.clock.keys)
    return while_unchanged(standing_now, lambda: kept_choices(opened, standing, names))


def _not_here(opened: Desk, names: Names) -> list[tuple[RankNotHere, list[tuple[NotHere, str]]]]:
    return [
        (group, [(one, seats_words(one.seats, names)) for one in group.people])
        for group in not_here(opened)
    ]


def _back(opened: Desk) -> list[tuple[Back, str]]:
    """Who is back, and what taking their change back would open."""
    return [
        (one, opens_key(would_open(one.change, opened.clock, opened.built)) if one.as_left else "")
        for one in gameday.who_is_back(opened)
    ]


def _standing(opened: Desk) -> dict[int, list[Standing]]:
    """Rank id -> who stands in it, in the order of the spots."""
    built = opened.built
    of: dict[str, list[tuple[str, str]]] = defaultdict(list)
    for (segment, spot), member in sorted(opened.field.seats.items()):
        if member in built.members:
            of[member].append((segment, spot))
    found: dict[int, list[Standing]] = defaultdict(list)
    order = {spot: number for number, spot in enumerate(built.spots)}
    for member, seats in sorted(of.items(), key=lambda item: min(order[s] for _, s in item[1])):
        spots = dict.fromkeys(built.spots[s].label for _, s in seats)
        words = {word_of(built, member, g) for g, _ in seats if g in opened.clock.keys}
        word = next((w for w in ("out", "doubtful") if w in words), "")
        first = min((s for _, s in seats), key=order.__getitem__)
        row = Standing(built.members[member], ", ".join(spots), word)
        found[built.spots[first].rank_id].append(row)
    return found


def _people(opened: Desk, gone: list[Missing]) -> list[Member]:
    """Everybody who stands in the lineup, former members too."""
    members = opened.built.members | {key(m.member.pk): m.member for m in gone}
    standing = sorted({who for who in opened.field.seats.values() if who in members})
    return [members[who] for who in standing if who]


def _by_rank(
    opened: Desk, standing: dict[int, list[Standing]]
) -> list[tuple[str, list[Standing], tuple[str, ...]]]:
    """Each rank with who stands in it, and who leads it in its leader's place."""
    labels = {s.rank_id: str(s.rank) for s in opened.built.spots.values()}
    leading, segments = leading_to_show(opened.lineup), opened.built.segments.values()
    return [
        (labels[rank], standing[rank], leading_lines(leading, rank, segments))
        for rank in labels
        if rank in standing
    ]


def _requests(viewer: Viewer, event: Event, opened: Desk) -> dict[str, list[requests.Asked]]:
    return {
        "asked": requests.waiting_requests(viewer, event, opened.built),
        "decided": requests.decided_requests(event),
    }


def _asked_offline(viewer: Viewer, event: Event) -> dict[str, bool]:
    """Whether a fill made without network asks the director, and whether it needs a reason."""
    mine = may_edit_lineup(viewer, event)
    return {"asks": not mine, "why": mine and past_cut_off(event)}
