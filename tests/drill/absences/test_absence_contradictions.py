"""Reports of absences: what contradicts itself is refused at its field."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drill.absences.models import Absence
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

DAYS = {"event": "", "from_date": "2099-10-05", "until_date": "2099-10-12"}


@pytest.fixture
def staff(cast: Cast) -> Client:
    return client_of(cast, "staff")


def said(band: Band, **values: str) -> dict[str, Any]:
    member = band.members["Cai Ørnberg"].pk
    return {"member": member, "event": band.event.pk, "kind": "out"} | values


CONTRADICTIONS = [
    ({"until_date": "2099-10-20"}, "until_date", "not both"),
    ({"until_date": "1999-10-20"}, "until_date", "not both"),
    ({"until_date": "0001-01-01"}, "until_date", "between 1970 and 2199"),
    ({"late_until": "15:00"}, "late_until", "Only late"),
    ({"kind": "leaves", "leaves_at": "16:00", "late_until": "15:00"}, "late_until", "Only"),
    ({"leaves_at": "15:00"}, "leaves_at", "Only leaving early"),
    ({"chance": "0.3"}, "chance", "Only doubtful"),
    ({"kind": "in", "chance": "0"}, "chance", "Only doubtful"),
    ({"kind": "doubtful", "chance": "0"}, "chance", "a chance between 0 and 1"),
    ({"kind": "doubtful", "chance": "1"}, "chance", "a chance between 0 and 1"),
    (DAYS | {"review_date": "2099-10-04"}, "review_date", "before the first"),
]


@pytest.mark.parametrize(("values", "field", "message"), CONTRADICTIONS)
def test_what_contradicts_itself_is_refused_at_its_field(
    staff: Client, band: Band, values: dict[str, str], field: str, message: str
) -> None:
    response = staff.post(reverse("absence-new"), said(band, **values))
    assert response.status_code == 200
    errors = response.context["form"].errors
    assert list(errors) == [field] and message in errors[field][0]
    assert not Absence.objects.exists()


@pytest.mark.parametrize(
    "values",
    [
        {},
        {"kind": "late", "late_until": "15:00"},
        {"kind": "leaves", "leaves_at": "16:00"},
        {"kind": "doubtful"},
        {"kind": "doubtful", "chance": "0.3", "review_date": "2099-10-15"},
        {**DAYS, "review_date": "2099-10-05"},
    ],
)
def test_what_agrees_is_taken(staff: Client, band: Band, values: dict[str, str]) -> None:
    assert staff.post(reverse("absence-new"), said(band, **values)).status_code == 302
    assert Absence.objects.count() == 1


def test_a_members_own_report_is_judged_alike(cast: Cast, band: Band) -> None:
    told = said(band, late_until="15:00", until_date="2099-10-20")
    response = client_of(cast, "member").post(reverse("my-absences"), told)
    assert set(response.context["form"].errors) == {"late_until", "until_date"}
    assert not Absence.objects.exists()
