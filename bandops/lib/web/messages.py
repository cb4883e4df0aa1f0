"""Messages that survive a redirect; lines after the first are details."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpRequest

from bandops.lib.errors import Refused


def refuse(request: HttpRequest, error: Refused) -> None:
    """Tell the person why, with the details."""
    messages.error(request, "\n".join([error.message, *error.details[:40]]))


def done(request: HttpRequest, text: str) -> None:
    """Tell the person what was done."""
    messages.success(request, text)
