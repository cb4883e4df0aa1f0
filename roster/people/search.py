"""Instruments and parts in the search."""

from __future__ import annotations

from collections.abc import Iterator

from bandops.lib.finding.finders import finds
from bandops.lib.finding.finding import Entry
from roster.people import queries
from roster.people.viewer import Viewer


@finds(Instruments=5, Parts=6)
def instruments_and_parts(viewer: Viewer) -> Iterator[Entry]:
    """For staff."""
    if not viewer.is_staff:
        return
    season = viewer.this_season
    for instrument in queries.instruments(season).prefetch_related(None):
        key = instrument.pk
        yield Entry("Instruments", instrument.name, key, "", "", "instrument-edit", key)
    for part in queries.parts(season):
        words, of = f"{part.code} {part.instrument}", str(part.instrument)
        note = of if of != part.name else ""
        yield Entry("Parts", part.name, part.pk, words, note, "part-edit", part.pk)
