"""What the kept database of a version is made of."""

from __future__ import annotations

from drill.absences.services.absences import Report, report_absence
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from tests.factories import make_band, make_cast


def make_rows() -> None:
    """The small band with an account for each role, somebody out, and its game published."""
    band = make_band()
    cast = make_cast(band)
    report = Report(band.members["Cai Ørnberg"], {"kind": "out", "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    draft = open_draft(actor=cast.staff, event=band.event)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=None)
