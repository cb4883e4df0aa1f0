"""What every template may use."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.http import HttpRequest

from bandops.lib import mail
from bandops.lib.web.locks import queue_lock
from bandops.lib.web.menu import entries_for


def page(request: HttpRequest) -> dict[str, Any]:
    """The viewer, the menu word of the page, the menu (made where it is shown), and whether mail
    is set up."""
    viewer = getattr(request, "viewer", None)
    return {
        "viewer": viewer,
        "mail_leaves": mail.leaves(),
        "menu": getattr(request, "menu", ""),
        "queue_lock": partial(queue_lock, viewer),
        "menu_entries": partial(entries_for, viewer) if viewer is not None else (),
    }
