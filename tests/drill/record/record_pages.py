"""The Sunday after the game, and the marching record's pages."""

from __future__ import annotations

import datetime
import re
from collections.abc import Iterator

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.lineup.models import Lineup
from tests.architecture.many import write_lineup
from tests.conftest import BACKEND
from tests.factories import Band, Cast

SUNDAY = datetime.datetime(2099, 10, 18, 15, tzinfo=datetime.UTC)


@pytest.fixture(autouse=True)
def _sunday() -> Iterator[None]:
    with time_machine.travel(SUNDAY, tick=False):
        yield


@pytest.fixture
def lineup(band: Band, cast: Cast) -> Lineup:
    """Saturday's game: Cai was out in the end, Ida stood in at pregame only."""
    made = write_lineup(band.event, cast.staff, 1)
    report = Report(band.members["Cai Ørnberg"], {"kind": AbsenceKind.OUT, "event": band.event})
    report_absence(actor=cast.staff, report=report, by_staff=True)
    return made


def client(user: User | None) -> Client:
    made = Client()
    if user is not None:
        made.force_login(user, backend=BACKEND)
    return made


def fields(page: str) -> dict[str, str]:
    """What the page's large form would send as it stands."""
    form = page[page.index('name="lineup"') - 200 :]
    hidden = re.findall(r'<input type="hidden" name="([\w-]+)" value="([^"]*)"', form)
    chosen = re.findall(
        r'<select name="(t-[\d-]+)".*?<option value="([^"]*)" selected>', form, re.DOTALL
    )
    return dict(hidden) | dict(chosen)


def url(band: Band) -> str:
    return reverse("record-of", args=[band.event.pk])
