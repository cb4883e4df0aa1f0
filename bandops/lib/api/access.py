"""Who asks: somebody signed in, or a program with a token; and whether they may."""

from __future__ import annotations

from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from bandops.lib.accounts.models import User
from bandops.lib.accounts.viewer import Viewer, viewer
from bandops.lib.api.models import ApiToken
from bandops.lib.api.ties import VIEWER_OF
from bandops.lib.api.tokens import token_of

BEARER = "Bearer"


class TokenAuthentication(BaseAuthentication):
    """``Authorization: Bearer bo_…`` (RFC 6750)."""

    def authenticate(self, request: Request) -> tuple[User, ApiToken] | None:
        kind, _, text = get_authorization_header(request).decode("latin-1").partition(" ")
        if kind.casefold() != BEARER.casefold():
            return None
        token = token_of(text.strip())
        if token is None:
            raise AuthenticationFailed("This token is not known, was revoked or is over.")
        return token.user, token

    def authenticate_header(self, request: Request) -> str:
        return BEARER


class TokenScheme(OpenApiAuthenticationExtension):  # type: ignore[no-untyped-call]
    target_class = TokenAuthentication
    name = "token"

    def get_security_definition(self, auto_schema: Any) -> dict[str, str]:
        return {"type": "http", "scheme": "bearer", "description": "A token made under API."}


class MayAsk(BasePermission):
    """The view's ``may`` lets the viewer in, and a token has the view's scope."""

    def has_permission(self, request: Request, view: Any) -> bool:
        if not view.may(viewer_of(request)):
            return False
        wanted = view.scope_for(request.method)
        return not isinstance(request.auth, ApiToken) or wanted in request.auth.scopes


def viewer_of(request: Request) -> Viewer:
    """Whoever asks, with their roles today; a token never has more than its account."""
    if isinstance(request.auth, ApiToken):
        if not hasattr(request, "_viewer"):
            (request._viewer,) = VIEWER_OF.ask(request.auth.user)  # type: ignore[attr-defined]
        found: Viewer = request._viewer  # type: ignore[attr-defined]
        return found
    return viewer(request._request)
