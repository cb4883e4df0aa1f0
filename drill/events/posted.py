"""The event that a page's address names."""

from __future__ import annotations

from django.shortcuts import get_object_or_404

from drill.events import queries
from drill.events.models import Event
from roster.people.viewer import Viewer


def event_of(viewer: Viewer, pk: int) -> Event:
    event = get_object_or_404(queries.events(viewer.this_season), pk=pk)
    event.season = viewer.this_season
    return event
