"""The travel list's print, and notices of its changes."""

from __future__ import annotations

from typing import Any

from bandops.lib.outbox.registry import Store, gives_up, handles
from bandops.lib.outbox.running import keep_pdf
from drill.events.models import TravelList
from drill.publishing.enums import NoticeState
from drill.travel.pdf import render_travel_list
from drill.travel.services.travel_notices import note_sent, send_notice
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


@handles("travel.notice")
def deliver_notice(payload: dict[str, Any]) -> Store:
    """Tell one member that they travel, or do not any more."""
    state = send_notice(payload["notice"], payload["along"])
    if state is None:
        return lambda: None
    return lambda: note_sent(payload["notice"], payload["along"], state)


@gives_up("travel.notice")
def say_who_was_not_reached(payload: dict[str, Any]) -> None:
    """Somebody has to tell them in person."""
    note_sent(payload["notice"], payload["along"], NoticeState.NOT_REACHED)
