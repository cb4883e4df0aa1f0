"""The print of a posted travel list: rank by rank, with boxes to tick at the bus."""

from __future__ import annotations

from collections import defaultdict

from django.conf import settings
from django.urls import reverse

from bandops.lib.dates import dated_words, stamp_words
from bandops.lib.pdf.render import PAPERS, Made, code_image, render_pdf
from drill.events.models import TravelList
from drill.travel.services.marching import marching
from drill.travel.services.travel_sheet import Line, sheet_of


def render_travel_list(it: TravelList, paper: str) -> Made:
    """The list in rank order; it says who comes and as what, never why somebody does not."""
    event = it.event
    assert it.posted_at is not None
    moment = stamp_words(it.posted_at.astimezone(event.zone))
    laid_out = sheet_of(it, marching(event))
    by_rank: dict[str, list[Line]] = defaultdict(list)
    for line in laid_out.lines:
        by_rank[str(line.rank) if line.rank else "Without a rank"].append(line)
    url = f"{settings.SITE_URL}{reverse('travel', args=[event.pk])}"
    context = {
        "event": event,
        "sheet": laid_out,
        "ranks": list(by_rank.items()),
        "code": code_image(url),
        "address": url,
        "stamp": f"Travel list: {event}, {dated_words(event.date)}",
        "stamp_detail": f"posted {moment} · for staff; scan for the current list",
    }
    title = f"Travel list: {event}"
    zone = event.season.zone
    content = render_pdf("travel/print/travel.html", context, paper=paper, title=title, zone=zone)
    return Made(f"travel-{paper}", f"Travel list, {PAPERS[paper]}", content)
