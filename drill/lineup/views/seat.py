"""One seat of a lineup: who could march it."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.pages import page
from drill.absences.enums import WITHOUT_TIME
from drill.events.enums import MARCHING
from drill.events.models import Segment
from drill.events.posted import event_of
from drill.field.wording import load_words
from drill.lineup import queries
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork
from drill.lineup.rules import may_edit_lineup
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import seat_candidates
from drill.lineup.sheets import Seat, Sheets, sheets
from drill.lineup.views.shown import no_lineup_context, shown_lineup
from drill.lineup.wording import (
    NOT_ALONG,
    WHY_NOT,
    Names,
    cure_sentences,
    member_change_sentence,
    price_text,
)
from roster.people.viewer import Viewer
from roster.ranks.models import Spot

MENU = "lineup"


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
    shown = shown_lineup(viewer, event)
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
        "cures": cure_sentences(mine.row.reason.get("cures", []), names)
        if mine and mine.row.member is None
        else [],
        "could": could,
        "could_not": could_not,
        "trouble": trouble,
        "orders": [o for group in queries.orders(event) for o in group if o.spot_id == spot.pk],
        "may_edit": may_edit_lineup(viewer, event),
        "kinds": WITHOUT_TIME,
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
        return [], [], no_lineup_context(built.event, error)["faults"]
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
