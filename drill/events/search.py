"""Events in the search."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.finding.finders import finds
from bandops.lib.finding.finding import Entry
from drill.events.models import Event
from drill.events.wording import found_event
from roster.people.viewer import Viewer


@finds(Events=3)
def events(viewer: Viewer) -> Iterator[Entry]:
    """For staff with their pages; for equipment managers, when what is worn."""
    if viewer.is_staff or viewer.is_equipment_manager:
        for event in Event.objects.filter(season=viewer.this_season):
            yield found_event(event, "event" if viewer.is_staff else "")
