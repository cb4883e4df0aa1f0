"""One seat of a lineup: who could march it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render

from bandops.lib.keys import key
from bandops.lib.web import rules
from bandops.lib.web.forms import whole_number
from bandops.lib.web.pages import page
from drill.absences.enums import WITHOUT_TIME
from drill.events.enums import MARCHING
from drill.events.models import Segment
from drill.events.posted import event_of
from drill.lineup import queries
from drill.lineup.rules import may_edit_lineup
from drill.lineup.services.candidate_lines import candidate_lines
from drill.lineup.services.panel import panel
from drill.lineup.services.problem_builder import build_to_show
from drill.lineup.sheets import Seat, Sheets, sheets
from drill.lineup.views.shown import shown_lineup
from drill.lineup.wording import cure_sentences
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
    built = build_to_show(event)
    names, is_over = laid_out.names, key(segment.pk) in built.over
    found = panel(built, shown, (key(segment.pk), key(spot.pk)))
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
        "who": candidate_lines(built, found.candidates, segment, spot, names),
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
