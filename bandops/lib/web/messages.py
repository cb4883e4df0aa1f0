"""Messages that survive a redirect; lines after the first are details."""

from __future__ import annotations

from typing import cast

from django.contrib import messages
from django.contrib.messages.storage.base import BaseStorage
from django.http import HttpRequest

from bandops.lib.errors import Refused


def refuse(request: HttpRequest, error: Refused) -> None:
    """Tell the person why, with the details."""
    messages.error(request, "\n".join([error.message, *error.details[:40]]))


def done(request: HttpRequest, text: str) -> None:
    """Tell the person what was done."""
    messages.success(request, text)


def waiting(request: HttpRequest, *, keep: bool = True) -> list[str]:
    """What was said, in its words; the next page shows it all the same, unless it is not kept."""
    storage = cast(BaseStorage, messages.get_messages(request))
    said = [str(message) for message in storage]
    storage.used = not keep
    return said
