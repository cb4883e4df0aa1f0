"""Headers that every answer has, beside those of Django and the content security policy."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

GetResponse = Callable[[HttpRequest], HttpResponse]
HEADERS = {
    "Permissions-Policy": "camera=(), geolocation=(), microphone=(), payment=(), usb=()",
    "Cross-Origin-Resource-Policy": "same-origin",
}


def fixed_headers(get_response: GetResponse) -> GetResponse:
    """No page asks for a device of its reader, and no other site shows what is here."""

    def answer(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        for name, value in HEADERS.items():
            response.setdefault(name, value)
        return response

    return answer
