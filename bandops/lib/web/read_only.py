"""A backup that is looked at takes nothing in."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.core.exceptions import MiddlewareNotUsed
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

GetResponse = Callable[[HttpRequest], HttpResponse]
READING = ("GET", "HEAD")
COMING_AND_GOING = ("/sign-in/", "/sign-out/", "/link/")


def refuse_writing(get_response: GetResponse) -> GetResponse:
    """Of what is sent only signing in and out is taken, and the database would refuse the rest."""
    if not settings.READ_ONLY:
        raise MiddlewareNotUsed

    def answer(request: HttpRequest) -> HttpResponse:
        if request.method in READING or request.path.startswith(COMING_AND_GOING):
            return get_response(request)
        return render(request, "read_only.html", status=405)

    return answer
