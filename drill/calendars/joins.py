"""What calendars do when an account is signed out everywhere."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from drill.calendars.services.calendars import feed_of, revoke
from roster.people.ties import ACCOUNT_SHUT


@ACCOUNT_SHUT.join
def switch_off_address(user: User) -> None:
    """A lost phone's calendar program reads nothing more."""
    revoke(feed_of(user))
