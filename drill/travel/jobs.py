"""The travel list's print."""

from __future__ import annotations

from typing import Any

from bandops.lib.outbox.registry import Store, handles
from bandops.lib.outbox.running import keep_pdf
from drill.events.models import TravelList
from drill.travel.pdf import render_travel_list
from drill.travel.services.travel_prints import group_of as travel_group
from drill.travel.services.travel_prints import print_key


@handles("travel.list")
def print_travel_list(payload: dict[str, Any]) -> Store:
    """Render a posted travel list; one that was changed or taken back since is left out."""
    lists = TravelList.objects.select_related("event__season")
    it = lists.filter(pk=payload["list"], posted_at=payload["posted"]).first()
    if it is None:
        return lambda: None
    made = render_travel_list(it, payload["paper"])
    paper, group = payload["paper"], travel_group(it)
    key, filename = f"{print_key(it)}{paper}", f"travel-list-{paper}.pdf"
    return lambda: keep_pdf(key, group, made.title, filename, made.content)
