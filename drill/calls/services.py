"""Asking for the rehearsal call."""

from __future__ import annotations

import uuid

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.outbox.dispatch import add_job
from drill.events.enums import EventKind
from drill.events.models import Event


def call_group(event: Event) -> str:
    """The name that joins a rehearsal's calls: jobs and files."""
    return f"call:{event.pk}"


def ask_for_call(*, actor: User, event: Event, key: uuid.UUID) -> None:
    """A new call of all ranks, of the data as they stand; asking twice with one key makes one."""
    if event.kind != EventKind.REHEARSAL:
        raise Refused(f"{event} is not a rehearsal.")
    with recorded(actor, "ask for rehearsal call"):
        add_job(
            key=f"{call_group(event)}:{key}",
            kind="calls.call",
            group=call_group(event),
            payload={"event": event.pk, "paper": event.season.paper, "key": str(key)},
        )
