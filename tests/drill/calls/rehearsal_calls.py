"""A rehearsal with a call: who learns, who is away, who backups."""

from __future__ import annotations

import io
from collections.abc import Iterator
from typing import Any

import pytest
from pypdf import PdfReader

from drill.absences.models import Absence
from drill.backups.models import BackupPlan, Lesson
from drill.calls.pdf import render_call
from drill.events.models import Event
from drill.lineup.models import Backup
from drill.shows.models import Dot, DrillSet, Position
from tests.drill.publishing.revision_prints import out
from tests.drill.rehearsals.rehearsing import DAY, add_sets, clock, make_rehearsal, tidewheel
from tests.factories import Band, Cast

STEP = 720


@pytest.fixture
def rehearsal(band: Band, cast: Cast) -> Iterator[Event]:
    """Cai is out for the game, Eno for the day of the rehearsal, Dee doubtful for the game; Jon
    learns two spots this week, Ida and Kit are named backups."""
    add_sets(tidewheel(band), "1", "2")
    show = tidewheel(band)
    for x, label in enumerate((spot.label for spot in band.spots.values()), 1):
        dot = Dot.objects.create(show=show, label=label)
        for drill_set in DrillSet.objects.filter(version__show=show):
            Position.objects.create(set=drill_set, dot=dot, x=STEP * x, y=STEP * 4)
    for spot, name, order in (
        ("1-1", "Jon Pell", 1),
        ("1-2", "Ida Voss", 1),
        ("2-1", "Kit Moss", 1),
    ):
        Backup.objects.create(spot=band.spots[spot], member=band.members[name], order=order)
    plan = BackupPlan.objects.create(event=band.event)
    for spot in ("1-2", "2-2"):
        Lesson.objects.create(plan=plan, member=band.members["Jon Pell"], spot=band.spots[spot])
    out(band, cast, "Cai Ørnberg", category="health")
    out(band, cast, "Hal Brook", category="conduct")
    out(band, cast, "Dee Quill", kind="doubtful", chance="0.30", category="family")
    away = {"from_date": DAY, "until_date": DAY, "kind": "out", "category": "travel"}
    Absence.objects.create(member=band.members["Eno Farrow"], **away)
    event = make_rehearsal(band)
    with clock(13, 10):
        yield event


def pdf(event: Event, **options: Any) -> PdfReader:
    values = {"paper": "letter", "with_draft": True, **options}
    return PdfReader(io.BytesIO(render_call(event, **values).content))
