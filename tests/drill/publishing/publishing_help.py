"""The small band's lineup published, and members who say that they are out."""

from __future__ import annotations

from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from tests.factories import Band, Cast


def publish(band: Band, cast: Cast, number: int | None = None) -> Lineup:
    draft = open_draft(actor=cast.staff, event=band.event)
    return publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def say_out(band: Band, cast: Cast, name: str) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def at(lineup: Lineup, segment: str, spot: str) -> str:
    rank, number = spot.split("-")
    row = lineup.rows.get(segment__name=segment, spot__rank__label=rank, spot__number=int(number))
    return row.member.name if row.member else row.origin
