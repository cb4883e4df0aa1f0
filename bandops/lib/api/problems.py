"""What went wrong, as RFC 9457 says it: ``application/problem+json``."""

from __future__ import annotations

from collections.abc import Iterator
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied, ValidationError
from django.db import IntegrityError
from django.http import Http404
from rest_framework import exceptions, serializers
from rest_framework.renderers import JSONRenderer
from rest_framework.response import Response

from bandops.lib.errors import Refused

TYPE = "application/problem+json"
WORDS = {
    "validation": "Something in the request is not right.",
    "refused": "A rule of the band stands in the way.",
    "same-time": "Somebody just saved the same thing.",
}


class ProblemDetailsSerializer(serializers.Serializer[dict[str, Any]]):
    """RFC 9457, 3.1, and ``errors`` beside it: where in the request, and what."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField(required=False)
    errors = serializers.ListField(  # type: ignore[assignment]
        child=serializers.DictField(), required=False
    )


class Problem(exceptions.APIException):
    """A problem with a status and a kind of its own."""

    def __init__(self, status: int, kind: str, detail: str) -> None:
        super().__init__(detail)
        self.status_code, self.kind = status, kind


def answer(error: Exception, context: dict[str, Any]) -> Response | None:
    """The response to an error; None for one that nobody foresaw, which is a server error."""
    if isinstance(error, Refused):
        more = [{"detail": text} for text in error.details]
        return problem(409, "refused", detail=error.message, errors=more)
    if isinstance(error, IntegrityError) and "unique" in str(error).casefold():
        return problem(409, "same-time", detail="Look at it, then try again.")
    if isinstance(error, ValidationError):
        return problem(422, "validation", errors=list(_of_model(error)))
    if isinstance(error, Http404):
        return problem(404, detail="There is no such thing here.")
    if isinstance(error, PermissionDenied):
        error = exceptions.PermissionDenied()
    if isinstance(error, exceptions.ValidationError):
        return problem(400, "validation", errors=list(_pointed(error.detail)))
    if isinstance(error, exceptions.APIException):
        made = problem(error.status_code, getattr(error, "kind", ""), detail=str(error.detail))
        wait = getattr(error, "wait", None)
        if wait:
            made["Retry-After"] = str(int(wait) + 1)
        if challenge := getattr(error, "auth_header", None):
            made["WWW-Authenticate"] = challenge
        return made
    return None


def problem(status: int, kind: str = "", **more: Any) -> Response:
    """A problem; one without a kind is what its status says (RFC 9457, 4.2.1)."""
    body = {
        "type": f"/api/#{kind}" if kind else "about:blank",
        "title": WORDS.get(kind) or HTTPStatus(status).phrase,
        "status": status,
    }
    body |= {name: value for name, value in more.items() if value}
    return Response(body, status=status, content_type=TYPE)


class ProblemRenderer(JSONRenderer):
    """JSON under the name that problems have."""

    media_type = TYPE


def _pointed(detail: Any, at: str = "") -> Iterator[dict[str, str]]:
    """Each fault with a pointer (RFC 6901) to where it is."""
    if isinstance(detail, dict):
        for name, inner in detail.items():
            step = "" if name == "non_field_errors" else f"/{name}"
            yield from _pointed(inner, at + step)
    elif isinstance(detail, list):
        for number, inner in enumerate(detail):
            nested = isinstance(inner, dict | list)
            yield from _pointed(inner, f"{at}/{number}" if nested else at)
    else:
        yield {"pointer": f"#{at}", "detail": str(detail)}


def _of_model(error: ValidationError) -> Iterator[dict[str, str]]:
    by_field = getattr(error, "message_dict", None) or {"__all__": error.messages}
    for name, texts in by_field.items():
        pointer = "#" if name == "__all__" else f"#/{name}"
        for text in texts:
            yield {"pointer": pointer, "detail": text}
