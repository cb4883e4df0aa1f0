"""What calls add to a rehearsal's page: the key of the form that asks for one."""

from __future__ import annotations

import uuid
from typing import Any

from drill.events.models import Event
from drill.events.ties import EVENT_PAGE


@EVENT_PAGE.join
def key_of_call(event: Event) -> dict[str, Any]:
    """So that a form sent twice asks for one call."""
    return {"call_key": uuid.uuid4()}
