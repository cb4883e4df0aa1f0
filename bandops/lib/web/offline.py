"""Pages that a phone keeps for the field, and the worker that keeps them."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from django.contrib.staticfiles import finders
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.web import rules
from bandops.lib.web.pages import page


def keep_copy(
    viewer: Viewer, response: HttpResponse, series: str = "", number: int | None = None
) -> HttpResponse:
    """Allow the phone to keep the page for this account; it shows its age when read offline. Of a
    ``series`` it keeps what has the highest ``number``."""
    response["X-Offline-Copy"] = str(viewer.signed_in.pk)
    response["X-Made-At"] = timezone.now().isoformat(timespec="seconds")
    if number is not None:
        response["X-Series"], response["X-Number"] = series, str(number)
    return response


def is_for_later(request: HttpRequest) -> bool:
    """The phone fetches the page to keep it; nobody has read it yet."""
    return request.headers.get("X-Keep") == "1"


@page(rules.anyone)
def worker(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """The service worker, from the root so that it serves the whole site."""
    response = HttpResponse(_worker_script(), content_type="text/javascript")
    response["Service-Worker-Allowed"] = "/"
    return response


@page(rules.anyone)
def nothing_kept(request: HttpRequest, viewer: Viewer) -> HttpResponse:
    """What a phone shows without network for a page it has no copy of."""
    return render(request, "offline.html")


@cache
def _worker_script() -> bytes:
    found = finders.find("bandops/worker.js")
    assert isinstance(found, str)
    return Path(found).read_bytes()
