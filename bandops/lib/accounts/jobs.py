"""What accounts have done after an answer: nobody waits for the mail server, or learns of it."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.links import mail_link
from bandops.lib.outbox.registry import Store, handles


@handles("accounts.link")
def deliver_link(payload: dict[str, Any]) -> Store:
    """Mail a sign-in link, where there is anybody to mail it to."""
    mail_link(payload["user"])
    return lambda: None
