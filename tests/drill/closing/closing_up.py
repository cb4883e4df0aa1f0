"""A show of four sets for the small band, closed up and published."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.lineup.sheets import sheets
from drill.publishing.services.publishing import publish_lineup
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from tests.answers import Response
from tests.factories import Band, Cast

STEP = 720
SignedIn = Callable[[User | None], Client]


@pytest.fixture
def show(band: Band) -> Show:
    """Rank 1 in a line of five, two steps apart, that goes four steps back in each of four sets;
    rank 2 stands apart."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="first", order=1)
    dots = {s: Dot.objects.create(show=show, label=s) for s in band.spots}
    for at in range(1, 5):
        page = DrillSet.objects.create(version=version, order=at, label=str(at), counts=8)
        for n, (label, dot) in enumerate(dots.items()):
            x = 2 * STEP * n if label.startswith("1") else (n + 9) * 4 * STEP
            Position.objects.create(set=page, dot=dot, x=x, y=(10 + 4 * at) * STEP)
    return show


def away(band: Band, cast: Cast, name: str) -> None:
    report = Report(band.members[name], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def publish(band: Band, cast: Cast, number: int | None = None) -> Lineup:
    draft = open_draft(actor=cast.staff, event=band.event)
    return publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def emptied(band: Band, cast: Cast) -> None:
    """A draft in which nobody marches 1-4: no other clarinet is there to step in."""
    away(band, cast, "Dee Quill")
    open_draft(actor=cast.staff, event=band.event)


def close(client: Client, band: Band, spot: str = "1-4", **more: object) -> Response:
    url = reverse("close-up", args=[band.event.pk, band.halftime.pk, band.spots[spot].pk])
    form = {"line": "1-1, 1-2, 1-3, 1-4, 1-5", "sets": ["1", "2", "3", "4"]}
    return client.post(url, form | more)


def xs(version: ShowVersion, label: str) -> dict[str, int]:
    rows = Position.objects.filter(set__version=version, set__label=label)
    return dict(rows.values_list("dot__label", "x"))


def words(lineup: Lineup, spot: str) -> set[tuple[str, str]]:
    lines = [line for rank in sheets(lineup).ranks for line in rank.lines]
    (line,) = [line for line in lines if line.spot.label == spot]
    return {(seat.mark, seat.word) for seat in line.seats}
