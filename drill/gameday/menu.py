"""The tab of game day, which stands in the bar on the day."""

from __future__ import annotations

from django.urls import reverse

from bandops.lib.web import rules
from bandops.lib.web.menu import Area, Entry, Item, add, pin
from drill.events.queries import event_of_today
from roster.people.viewer import Viewer

add(Entry(Area.LINEUP, 3, "Game day", "desk", "desk", rules.staff, kept=True))


@pin
def game_day(viewer: Viewer) -> Item | None:
    """The desk of the event that is on today."""
    event = event_of_today(viewer.this_season) if viewer.is_staff else None
    return Item("Game day", reverse("desk-of", args=[event.pk])) if event else None
