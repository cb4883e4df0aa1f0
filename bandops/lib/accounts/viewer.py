"""What the ground floor asks of whoever looks at a page; a room makes the viewers."""

from __future__ import annotations

from typing import Any, Protocol, cast

from django.http import HttpRequest

from bandops.lib.accounts.models import User


class Viewer(Protocol):
    """An account with its roles and membership in the current season."""

    @property
    def user(self) -> User | None:
        """The account; None for a visitor."""

    @property
    def season(self) -> Any:
        """The current season, if any."""

    @property
    def this_season(self) -> Any:
        """The current season; PermissionError before the first set-up."""

    @property
    def signed_in(self) -> User:
        """The account; PermissionError for a visitor."""

    @property
    def belongs(self) -> bool: ...

    @property
    def is_director(self) -> bool: ...

    @property
    def is_staff(self) -> bool: ...

    @property
    def is_equipment_manager(self) -> bool: ...

    @property
    def is_evaluator(self) -> bool: ...

    @property
    def is_rank_leader(self) -> bool: ...

    @property
    def is_member(self) -> bool: ...


class ViewerRequest(HttpRequest):
    """A request that has passed the room's middleware."""

    viewer: Viewer


def viewer(request: HttpRequest) -> Viewer:
    """The request's viewer."""
    return cast(ViewerRequest, request).viewer
