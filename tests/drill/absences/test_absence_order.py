"""Which of two entries counts: the one made later, whichever arrived first."""

from __future__ import annotations

import datetime
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse
from django.utils import timezone

from drill.absences import queries
from drill.absences.models import Absence
from drill.absences.services.absences import Report, report_absence
from drill.absences.services.standings import standings_of
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("a constraint compares two times")]
CAI = "Cai Ørnberg"


def send(band: Band, cast: Cast, kind: str, *, ago: int, clock: int = 0) -> Any:
    """What a member's phone sends after so many minutes, by a clock that is wrong by some."""
    now = timezone.now() + datetime.timedelta(minutes=clock)
    data = {
        "kind": kind,
        "event": band.event.pk,
        "noted_at": (now - datetime.timedelta(minutes=ago)).isoformat(),
        "sent_at": now.isoformat(),
    }
    return client_of(cast, "member").post(reverse("my-absences"), data, headers={"X-Queued": "1"})


def state(band: Band) -> str:
    return str(standings_of(band.event, band.members[CAI])[band.halftime.pk].state)


@pytest.mark.parametrize("clock", [0, -600, 600])
def test_what_was_made_earlier_does_not_win_by_arriving_later(
    band: Band, cast: Cast, clock: int
) -> None:
    back = Report(band.members[CAI], {"kind": "in", "event": band.event})
    report_absence(actor=cast.staff, report=back, by_staff=True)
    assert send(band, cast, "out", ago=30, clock=clock).json()["state"] == "done"
    Absence.objects.update(state="confirmed")
    assert Absence.objects.count() == 2 and state(band) == "in"
    assert [a.kind for a in queries.absences(band.season)] == ["in", "out"]
    assert send(band, cast, "limited", ago=0, clock=clock).json()["state"] == "done"
    Absence.objects.update(state="confirmed")
    assert state(band) == "limited"


def test_both_times_are_shown_where_they_differ(band: Band, cast: Cast) -> None:
    send(band, cast, "limited", ago=0)
    send(band, cast, "out", ago=30)
    for role, page in (("staff", "absences"), ("member", "my-absences")):
        html = client_of(cast, role).get(reverse(page)).content.decode()
        assert html.count("it counts from when it was written") == 1


def test_no_entry_is_made_after_it_came(band: Band) -> None:
    later = timezone.now() + datetime.timedelta(hours=1)
    with pytest.raises(IntegrityError), transaction.atomic():
        Absence.objects.create(
            member=band.members[CAI], event=band.event, kind="out", noted_at=later
        )


def test_what_is_missing_comes_back_by_name(band: Band, cast: Cast) -> None:
    told = send(band, cast, "late", ago=30).json()
    assert told["state"] == "invalid"
    assert '<a href="#id_late_until">Late until</a>: Which time?' in told["page"]
    assert not Absence.objects.exists()
