"""Who looks at the site, and what came of it."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from django.db import transaction
from django.test import Client
from django.urls import reverse

from tests.answers import Response
from tests.factories import Cast

BACKEND = "django.contrib.auth.backends.ModelBackend"
ROLES = (
    "director",
    "staff",
    "equipment",
    "evaluator",
    "leader",
    "member",
    "other",
    "outsider",
    "visitor",
)


def client_of(cast: Cast, role: str, **options: Any) -> Client:
    """A client signed in in a role."""
    client = Client(**options)
    user = cast.named(role)
    if user is not None:
        client.force_login(user, backend=BACKEND)
    return client


@contextmanager
def undone() -> Iterator[None]:
    """Whatever is written inside is taken back."""
    with transaction.atomic():
        yield
        transaction.set_rollback(True)


def outcome(response: Response) -> str:
    """What came of a request: ok covers a page, a redirect onwards and a form with errors."""
    code = response.status_code
    if code in (301, 302):
        to_sign_in = response["Location"].split("?")[0] == reverse("sign-in")
        return "sign-in" if to_sign_in else "ok"
    return "ok" if code in (200, 400) else str(code)
