"""What every template may use."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.conf import settings
from django.http import HttpRequest

from bandops.lib import mail
from bandops.lib.accounts.sessions import keeps_copies
from bandops.lib.web.locks import queue_lock


def page(request: HttpRequest) -> dict[str, Any]:
    """The viewer, and whether mail is set up."""
    viewer = getattr(request, "viewer", None)
    return {
        "is_borrowed": viewer is not None and not keeps_copies(request),
        "is_backup": settings.READ_ONLY,
        "is_practice": settings.PRACTICE,
        "read_at": getattr(request, "read_at", None),
        "viewer": viewer,
        "mail_leaves": mail.leaves(),
        "queue_lock": partial(queue_lock, viewer),
    }
