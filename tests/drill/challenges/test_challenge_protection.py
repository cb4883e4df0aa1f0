"""Protected spots take no request, and never say why."""

from __future__ import annotations

import datetime
import re
from typing import Any

import pytest
from django.urls import reverse

from drill.absences.enums import AbsenceKind
from drill.absences.services.absences import Report, report_absence
from drill.challenges.models import Challenge
from drill.events.models import Event
from roster.people.models import Member
from tests.answers import text
from tests.drill.challenges.challenge_stage import Stage, client, clock, line_of, stage
from tests.factories import Band, Cast

__all__ = ["clock", "stage"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("decimals, ties and unique constraints")]


def away_by_dates(band: Band, cast: Cast) -> None:
    values = {"kind": AbsenceKind.OUT, "from_date": datetime.date(2099, 10, 13)}
    report_absence(
        actor=cast.staff, report=Report(band.members["Cai Ørnberg"], values), by_staff=True
    )


def away_at_the_rehearsal(band: Band, cast: Cast) -> None:
    event = Event.objects.create(
        season=band.season,
        name="Run",
        kind="rehearsal",
        date=datetime.date(2099, 10, 13),
        time_zone="America/Chicago",
    )
    values = {"kind": AbsenceKind.OUT, "event": event}
    report_absence(
        actor=cast.staff, report=Report(band.members["Cai Ørnberg"], values), by_staff=True
    )


def leaves_before(band: Band, cast: Cast) -> None:
    values = {"kind": AbsenceKind.LEAVES, "from_date": datetime.date(2099, 10, 13)}
    values |= {"until_date": datetime.date(2099, 10, 13), "leaves_at": datetime.time(16, 30)}
    report_absence(
        actor=cast.staff, report=Report(band.members["Cai Ørnberg"], values), by_staff=True
    )


def not_cleared(band: Band, cast: Cast) -> None:
    Member.objects.filter(pk=band.members["Cai Ørnberg"].pk).update(cleared="no")


def eligible_until_before(band: Band, cast: Cast) -> None:
    Member.objects.filter(pk=band.members["Cai Ørnberg"].pk).update(
        eligible="until", eligible_until=datetime.date(2099, 10, 12)
    )


def by_staffs_word(band: Band, cast: Cast) -> None:
    client(cast.staff).post(
        reverse("protected-spots"), {"spot": band.spots["1-3"].pk, "until": "2099-10-13"}
    )


PROTECTIONS = [
    away_by_dates,
    away_at_the_rehearsal,
    leaves_before,
    not_cleared,
    eligible_until_before,
    by_staffs_word,
]


@pytest.mark.parametrize("protect", PROTECTIONS)
def test_a_protected_spot_reads_the_same_whatever_protects_it(stage: Stage, protect: Any) -> None:
    protect(stage.band, stage.cast)
    page = text(stage.ida.get(reverse("my-challenges")))
    line = line_of(page, "1-3")
    assert "protected" in line and "Ask" not in line
    assert " ".join(re.sub("<[^>]*>", " ", line).split()) == "1-3 Trumpet, your rank protected"
    assert "1-3 is protected in Week 9" in stage.ask(stage.ida, "1-3")
    assert not Challenge.objects.exists()


def test_a_holder_back_in_time_can_be_challenged(stage: Stage) -> None:
    values = {"kind": AbsenceKind.OUT, "from_date": datetime.date(2099, 10, 5)}
    values |= {"until_date": datetime.date(2099, 10, 12)}
    report = Report(stage.band.members["Cai Ørnberg"], values)
    report_absence(actor=stage.cast.staff, report=report, by_staff=True)
    assert "You have asked for 1-3" in stage.ask(stage.ida, "1-3")
