"""Errors keep the menu, as far as it is known who asks; a broken server says so without a query."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse, HttpResponseNotAllowed, JsonResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.views.defaults import page_not_found

GetResponse = Callable[[HttpRequest], HttpResponse]
API = "/api/v1/"


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """What cannot be read as a request."""
    return render(request, "400.html", status=400)


def not_found(request: HttpRequest, exception: Exception) -> HttpResponse:
    """A page, or for a program what RFC 9457 says."""
    if request.path.startswith(API):
        said = {"type": "about:blank", "title": "Not Found", "status": 404}
        return JsonResponse(said, status=404, content_type="application/problem+json")
    return page_not_found(request, exception)


def keep_menu(get_response: GetResponse) -> GetResponse:
    """An address that only forms are sent to, opened as a page, says so instead of nothing; what
    names whoever asked is kept nowhere."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if isinstance(response, HttpResponseNotAllowed) and request.method == "GET":
            response.content = render_to_string("405.html", {}, request).encode()
            response["Content-Type"] = "text/html; charset=utf-8"
        if response.status_code >= 400:
            response.setdefault("Cache-Control", "private, no-store")
        return response

    return answer
