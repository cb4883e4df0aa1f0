"""Private calendar addresses: making, switching off, and whose a token is."""

from __future__ import annotations

from django.conf import settings
from django.urls import reverse
from django.utils import timezone

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from drill.calendars.models import CalendarFeed
from roster.people.viewer import Viewer, viewer_of


def feed_of(user: User) -> CalendarFeed | None:
    """The account's address that works."""
    return CalendarFeed.objects.filter(user=user, revoked_at__isnull=True).first()


def address_of(feed: CalendarFeed) -> str:
    """The full address, as a calendar program needs it."""
    return f"{settings.SITE_URL}{reverse('calendar-feed', args=[feed.token])}"


def new_address(*, actor: User, seen: int | None) -> CalendarFeed:
    """A new address in place of the one the person saw; a form sent twice makes one only."""
    with recorded(actor, "make calendar address"):
        User.objects.select_for_update().get(pk=actor.pk)
        now = feed_of(actor)
        if now is not None and now.pk != seen:
            return now
        revoke(now)
        return CalendarFeed.objects.create(user=actor)


def switch_off(*, actor: User) -> None:
    """The address answers nothing any more."""
    with recorded(actor, "switch off calendar address"):
        User.objects.select_for_update().get(pk=actor.pk)
        revoke(feed_of(actor))


def revoke(feed: CalendarFeed | None) -> None:
    """Inside an action: it answers nothing any more."""
    if feed is not None:
        feed.revoked_at = timezone.now()
        feed.save()


def reader_of(token: str) -> Viewer | None:
    """Whom the address speaks to, as what they are today; nobody once it or they are gone."""
    feeds = CalendarFeed.objects.select_related("user")
    feed = feeds.filter(token=token, revoked_at__isnull=True).first()
    if feed is None:
        return None
    reader = viewer_of(feed.user)
    return reader if reader.belongs else None
