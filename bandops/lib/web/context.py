"""What every template may use."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest


def page(request: HttpRequest) -> dict[str, Any]:
    """The viewer and the menu word of the page."""
    return {"viewer": getattr(request, "viewer", None), "menu": getattr(request, "menu", "")}
