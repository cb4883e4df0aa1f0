"""What the tests of the roster's imports share: the kinds by staff, rows of their files."""

from __future__ import annotations

import datetime

import pytest
from django.utils import timezone

from roster.ranks.models import Holding
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk

Rows = list[list[object]]


def running(band: Band, days: int = 60) -> datetime.date:
    """The season began some days ago; returns today."""
    today = timezone.localdate()
    band.season.starts = today - datetime.timedelta(days=days)
    band.season.save()
    Holding.objects.update(starts=band.season.starts)
    return today


@pytest.fixture
def members(band: Band, cast: Cast) -> Desk:
    return Desk(
        band, cast, "members", "student number", "legal name", "email", "phone", "years marched",
        "main part", "also plays", "own instruments", "status", "listed", "cleared", "eligible",
    )  # fmt: skip


def person_row(**values: object) -> list[object]:
    keys = (
        "number", "name", "email", "phone", "years", "main", "doubles", "own", "status", "listed",
        "cleared", "eligible",
    )  # fmt: skip
    return [{"name": "New One", "main": "trumpet", **values}.get(key, "") for key in keys]


ANA: dict[str, object] = {
    "number": "004417",
    "name": "Ana Núñez",
    "email": "ana.nunez@quillwater.example",
    "years": 2,
}


@pytest.fixture
def ranks(band: Band, cast: Cast) -> Desk:
    return Desk(
        band, cast, "ranks", "rank", "spot", "part", "weight", "needs experience", "holder", "role"
    )


def spot_row(
    spot: str, part: str, holder: str = "", role: str = "", **more: object
) -> list[object]:
    rank = more.get("rank", "")
    return [rank, spot, part, more.get("weight", ""), more.get("experience", ""), holder, role]
