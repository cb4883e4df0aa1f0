"""The drill's kinds of jobs: prints and notices."""

from __future__ import annotations

from typing import Any

from bandops.lib.outbox.registry import Store, handles
from bandops.lib.outbox.running import keep_artifact
from drill.models import Lineup, TravelList
from drill.services.notices import note_sent, send_notice
from drill.services.publishing import group_of
from drill.services.travel import group_of as travel_group
from drill.services.travel import print_key


@handles("drill.notice")
def deliver_notice(payload: dict[str, Any]) -> Store:
    """Send one member's notice."""
    notice_id = payload["notice"]
    state = send_notice(notice_id)
    return lambda: note_sent(notice_id, state)


@handles("drill.print")
def make_print(payload: dict[str, Any]) -> Store:
    """Render one print of a published lineup and keep it."""
    from drill.pdf.prints import render_print

    lineup = Lineup.objects.select_related("event__season", "published_by").get(
        pk=payload["lineup"]
    )
    made = render_print(lineup, payload["print"], payload["paper"], payload.get("only", ""))
    return lambda: _keep(lineup, made.name, made.title, made.content)


@handles("drill.travel")
def print_travel_list(payload: dict[str, Any]) -> Store:
    """Render a posted travel list; one that was changed or taken back since is left out."""
    from drill.pdf.travel import render_travel_list

    lists = TravelList.objects.select_related("event__season")
    it = lists.filter(pk=payload["list"], posted_at=payload["posted"]).first()
    if it is None:
        return lambda: None
    made = render_travel_list(it, payload["paper"])
    return lambda: _keep_travel_list(it, payload["paper"], made.title, made.content)


def _keep_travel_list(it: TravelList, paper: str, title: str, content: bytes) -> None:
    keep_artifact(
        key=f"{print_key(it)}{paper}",
        group=travel_group(it),
        title=title,
        filename=f"travel-list-{paper}.pdf",
        content_type="application/pdf",
        content=content,
    )


def _keep(lineup: Lineup, name: str, title: str, content: bytes) -> None:
    keep_artifact(
        key=f"print:{lineup.code}:{name}",
        group=group_of(lineup),
        title=title,
        filename=f"{name}-r{lineup.number}.pdf",
        content_type="application/pdf",
        content=content,
    )
