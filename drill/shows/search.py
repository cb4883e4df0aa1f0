"""Shows in the search."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.finding.finders import finds
from bandops.lib.finding.finding import Entry
from drill.shows.models import Show
from roster.people.viewer import Viewer


@finds(Shows=4)
def shows(viewer: Viewer) -> Iterator[Entry]:
    """For staff."""
    if viewer.is_staff:
        for show in Show.objects.filter(season=viewer.this_season):
            yield Entry("Shows", show.name, show.pk, "show", "", "show", show.pk)
