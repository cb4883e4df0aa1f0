"""What every template may use."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.http import HttpRequest

from bandops.lib.web.locks import queue_lock
from bandops.lib.web.menu import entries_for


def page(request: HttpRequest) -> dict[str, Any]:
    """The viewer, the menu word of the page, and the menu (made where it is shown)."""
    viewer = getattr(request, "viewer", None)
    return {
        "viewer": viewer,
        "menu": getattr(request, "menu", ""),
        "queue_lock": partial(queue_lock, viewer),
        "menu_entries": partial(entries_for, viewer) if viewer is not None else (),
    }
