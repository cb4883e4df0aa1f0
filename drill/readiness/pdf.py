"""Prints for the store and the truck."""

from __future__ import annotations

import datetime
from typing import Any

from bandops.lib.pdf.render import PAPERS, Made, render_pdf
from bandops.lib.pdf.stamps import moment_of
from drill.readiness.services.ready import Ready
from drill.readiness.services.truck import load_list


def render_bring(ready: Ready, *, now: datetime.datetime | None = None) -> Made:
    """What to bring from the store, with tags, by rank."""
    return _made(ready, "bring", "From the store", {"ranks": ready.to_bring}, now)


def render_load(ready: Ready, *, now: datetime.datetime | None = None) -> Made:
    """What goes on the truck, with boxes to tick."""
    return _made(ready, "load", "Load list", {"loads": load_list(ready)}, now)


def _made(
    ready: Ready, name: str, called: str, more: dict[str, Any], now: datetime.datetime | None
) -> Made:
    event, season = ready.event, ready.event.season
    lineup = ready.lineup
    version = f"revision {lineup.number}" if lineup and lineup.published_at else "draft"
    title = f"{called}: {event}, {season.band_name}"
    context = more | {
        "event": event,
        "version": version,
        "stamp": title,
        "stamp_detail": f"{version} · made {moment_of(season.time_zone, now)}",
    }
    content = render_pdf(
        f"readiness/print/{name}.html", context, paper=season.paper, title=title, zone=season.zone
    )
    return Made(f"{name}-{event.pk}-{season.paper}", f"{called}, {PAPERS[season.paper]}", content)
