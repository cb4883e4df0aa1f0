"""The kinds of jobs of the game day: asking the director."""

from __future__ import annotations

from typing import Any

from bandops.lib.outbox.registry import Store, handles
from drill.gameday.services.request_mail import send_request


@handles("gameday.asked")
def mail_request(payload: dict[str, Any]) -> Store:
    """Mail the director that staff wait for their word."""
    send_request(payload["request"])
    return lambda: None
