"""The kinds of jobs that follow a publication: notices and prints."""

from __future__ import annotations

from typing import Any

from bandops.lib.outbox.registry import Store, gives_up, handles
from bandops.lib.outbox.running import keep_pdf
from drill.lineup.models import Lineup
from drill.publishing.enums import NoticeState
from drill.publishing.services.print_jobs import group_of
from drill.publishing.services.print_kinds import render_print
from drill.publishing.services.sending import Sent, note_sent, send_notice


@handles("publishing.notice")
def deliver_notice(payload: dict[str, Any]) -> Store:
    """Send one member's notice."""
    sent = send_notice(payload["notice"])
    return lambda: note_sent(sent)


@gives_up("publishing.notice")
def say_who_was_not_reached(payload: dict[str, Any]) -> None:
    """Somebody has to tell them in person."""
    note_sent(Sent((payload["notice"],), NoticeState.NOT_REACHED))


@handles("publishing.print")
def make_print(payload: dict[str, Any]) -> Store:
    """Render one print of a published lineup and keep it."""
    lineup = Lineup.objects.select_related("event__season", "published_by").get(
        pk=payload["lineup"]
    )
    made = render_print(lineup, payload["print"], payload["paper"], payload.get("only", ""))
    key, group = f"print:{lineup.code}:{made.name}", group_of(lineup)
    filename = f"{made.name}-r{lineup.number}.pdf"
    return lambda: keep_pdf(key, group, made.title, filename, made.content)
