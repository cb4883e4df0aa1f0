"""Messages that survive a redirect; lines after the first are details."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.contrib.messages.storage.base import BaseStorage
from django.http import HttpRequest

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.audit.takable import undoable
from bandops.lib.errors import Refused


def refuse(request: HttpRequest, error: Refused) -> None:
    """Tell the person why, with the details."""
    request.was_refused = True  # type: ignore[attr-defined]
    messages.error(request, "\n".join([error.message, *error.details[:40]]))


def done(request: HttpRequest, text: str, *, undo: bool = True) -> None:
    """Tell the person what was done, with a way to take it back where the history has one and
    the page has none of its own (``undo=False``)."""
    who: Viewer | None = getattr(request, "viewer", None)
    batch = undoable(who) if undo and who is not None else ""
    messages.success(request, text, extra_tags=batch)


def waiting(request: HttpRequest, *, keep: bool = True) -> list[str]:
    """What was said, in its words; the next page shows it all the same, unless it is not kept."""
    storage = cast(BaseStorage, messages.get_messages(request))
    said = [str(message) for message in storage]
    storage.used = not keep
    return said
