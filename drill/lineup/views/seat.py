"""One seat of a lineup: who could march it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from bandops.lib.keys import key
from bandops.lib.names import plain
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.pages import page
from drill.absences.enums import WITHOUT_TIME
from drill.events.enums import MARCHING
from drill.events.models import Segment
from drill.events.posted import event_of
from drill.field.wording import load_words
from drill.lineup import queries
from drill.lineup.core.candidates import Candidate
from drill.lineup.core.rules import WhyNot
from drill.lineup.rules import may_edit_lineup
from drill.lineup.services.panel import panel
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.sheets import Seat, Sheets, sheets
from drill.lineup.views.shown import shown_lineup
from drill.lineup.wording import (
    NOT_ALONG,
    WHY_NOT,
    Names,
    cure_sentences,
    effect_words,
)
from roster.people.viewer import Viewer
from roster.ranks.models import Spot

MENU = "lineup"
MOST_FLAT = 10
"""candidates that are listed at once; of more the best, and the others to be searched"""
BEST = 3


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
    names, is_over = laid_out.names, key(segment.pk) in built.over
    found = panel(built, shown, (key(segment.pk), key(spot.pk)))
    could, could_not = _candidates(built, found.candidates, segment, spot, names)
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
        "another_instrument": any(row["usual"] for row in could),
        "could": could[:BEST] if len(could) > MOST_FLAT else could,
        "others": could[BEST:] if len(could) > MOST_FLAT else [],
        "could_not": could_not,
        "version": 1 if shown.number else shown.version,
        "number": shown.number or "",
        "empties": [f"{names.spot(s)} in {names.segment(g)}" for g, s in found.emptied],
        "orders": [o for group in queries.orders(event) for o in group if o.spot_id == spot.pk],
        "may_edit": may_edit_lineup(viewer, event) and not is_over,
        "is_over": is_over,
        "kinds": WITHOUT_TIME,
        "from_desk": request.GET.get("from") == "desk",
        "out": whole_number(request.GET.get("out", "")),
        "fills": shown.number is not None
        and mine is not None
        and mine.row.member is None
        and not is_over,
    }
    return render(request, "lineup/seat.html", context)


def _seat_of(laid_out: Sheets, segment: Segment, spot: Spot) -> Seat | None:
    for rank in laid_out.ranks:
        for line in rank.lines:
            for one in line.seats:
                if (one.row.segment_id, one.row.spot_id) == (segment.pk, spot.pk):
                    return one
    return None


def _away_words(built: Built, member: str, segment: Segment) -> dict[WhyNot, str]:
    """Why a member is not there, where more is known than that."""
    if member in built.at_home:
        return NOT_ALONG
    if built.is_doubtful(member, key(segment.pk)):
        chance = round(built.standings[member, key(segment.pk)].chance * 100)
        return {WhyNot.AWAY: f"doubtful ({chance}%), planned as out by the season's setting"}
    return {}


def _candidates(
    built: Built, found: Iterable[Candidate], segment: Segment, spot: Spot, names: Names
) -> tuple[list[dict[str, Any]], list[dict[str, Any]]]:
    """Who could march the seat, with what each button would do, and who could not."""
    could, could_not = [], []
    for candidate in found:
        row: dict[str, Any] = {
            "member": built.members[candidate.member],
            "plain": plain(built.members[candidate.member].name),
            "stands_at": names.spot(candidate.stands_at),
            "here": candidate.stands_at == key(spot.pk),
        }
        if candidate.why_not:
            words = WHY_NOT | _away_words(built, candidate.member, segment)
            row["why_not"] = ", ".join(words[r] for r in candidate.why_not)
            could_not.append(row)
            continue
        row["usual"] = built.usual_instrument(candidate.member, key(spot.pk))
        load = built.load(candidate.member, key(spot.pk), key(segment.pk))
        if load is not None and load.total:
            row["load"] = load_words(
                load.new, load.total, load.largest, load.largest_set, names.style
            )
            row["learns"] = load.new > 0
        for name in ("put", "swap", "swap_all"):
            effect = getattr(candidate, name)
            row[name] = effect_words(effect, names, all_segments=name == "swap_all")
        could.append(row)
    return could, could_not
