"""The rehearsal call's print."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from bandops.lib.dates import stamp_words
from bandops.lib.outbox.registry import Store, handles
from bandops.lib.outbox.running import keep_pdf
from drill.calls.pdf import render_call
from drill.calls.services import call_group
from drill.events.models import Event


@handles("calls.call")
def make_call(payload: dict[str, Any]) -> Store:
    """Render the rehearsal call of all ranks and keep it."""
    event = Event.objects.select_related("season").get(pk=payload["event"])
    at = timezone.now()
    made = render_call(event, paper=payload["paper"], with_draft=True, now=at)
    title = f"{made.title}, made {stamp_words(at.astimezone(event.zone))}"
    group = call_group(event)
    key, filename = f"{group}:{payload['key']}", f"{made.name}.pdf"
    return lambda: keep_pdf(key, group, title, filename, made.content)
