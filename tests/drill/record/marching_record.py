"""Games of the small band that were played and confirmed."""

from __future__ import annotations

import datetime

from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.events.models import Event, Segment
from drill.lineup.models import Lineup
from drill.record.models import MarchingRecord
from drill.record.services.record import confirm_record
from drill.record.services.record_sheet import Choice
from roster.people.models import Member
from tests.architecture.many import write_lineup
from tests.factories import Band, Cast

AFTER = datetime.date(2099, 10, 1)


def played(band: Band, cast: Cast, day: int, kind: str = "game") -> Lineup:
    """A performance of September with two segments, published with all holders."""
    event = Event.objects.create(
        season=band.season,
        name=f"Game {day}",
        kind=kind,
        date=datetime.date(2099, 9, day),
        time_zone="America/Chicago",
    )
    for order, hour in ((1, 14), (2, 16)):
        Segment.objects.create(
            event=event,
            order=order,
            name=f"Run {order}",
            kind="halftime",
            starts=datetime.time(hour),
            ends=datetime.time(hour, 20),
        )
    return write_lineup(event, cast.staff, 1)


def confirm(
    cast: Cast, lineup: Lineup, told: dict[tuple[int, Member], Choice] | None = None
) -> MarchingRecord:
    """Confirm with what was otherwise, by the segment's order and the member."""
    segments = {s.order: s.pk for s in lineup.event.segments.all()}
    chosen = {(segments[order], m.pk): choice for (order, m), choice in (told or {}).items()}
    return confirm_record(
        actor=cast.staff, event=lineup.event, seen_lineup=lineup.pk, chosen=chosen, today=AFTER
    )


def out(band: Band, cast: Cast, name: str, event: Event) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
