"""Writes that a program may send again: done once, and never over what it has not seen."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter
from rest_framework.request import Request
from rest_framework.response import Response

from bandops.lib.accounts.models import User
from bandops.lib.api.problems import Problem
from bandops.lib.sent.guarding import Guarding
from bandops.lib.sent.models import SentForm
from bandops.lib.sent.once import Claim, SentTwice

KEY = "Idempotency-Key"
LONGEST_KEY = 200
ONCE = OpenApiParameter(
    KEY, OpenApiTypes.STR, OpenApiParameter.HEADER, required=True, description="of your own choice"
)
"""what the description says of a write's key"""


def once(request: Request, account: User, do: Callable[[], Response]) -> Response:
    """What ``do`` answers, or answered when the same key came first. Problem for a request without
    a key, and for one whose key came with something else before."""
    text = request.headers.get(KEY, "").strip()
    if not 0 < len(text) <= LONGEST_KEY:
        raise Problem(400, "key-missing", f"Send a header {KEY} with a value of your own choice.")
    body = hashlib.sha256(bytes(request._request.body)).hexdigest()
    key = hashlib.sha256(f"api:{account.pk}:{request.path}:{text}".encode()).hexdigest()
    claim = Claim(key)
    try:
        claim.refuse_second()
        with Guarding(request._request, claim, None).doing():
            response = do()
    except SentTwice:
        return _again(key, body)
    if claim.is_written:
        answer = {"status": response.status_code, "body": response.data, "of": body}
        SentForm.objects.filter(key=key).update(answer=answer)
    return response


def _again(key: str, body: str) -> Response:
    known: dict[str, Any] | None = (
        SentForm.objects.filter(key=key).values_list("answer", flat=True).first()
    )
    if known is None:
        detail = "This was done when it came first, and its answer was lost: read what is there."
        raise Problem(409, "answer-lost", detail)
    if known["of"] != body:
        raise Problem(422, "key-reused", "This key came with another request before.")
    return Response(known["body"], known["status"], headers={"Idempotency-Replayed": "true"})


def refuse_unseen(request: Request, etag: str) -> None:
    """Problem unless ``If-Match`` names what is there now (RFC 9110, 13.1.1; RFC 6585, 3)."""
    seen = request.headers.get("If-Match", "")
    if not seen:
        raise Problem(428, "if-match-missing", "Send If-Match with the ETag of what you read.")
    if seen != "*" and etag not in [one.strip() for one in seen.split(",")]:
        raise Problem(412, "changed", "It changed since you read it: read it again.")
