"""The import of practised sets: what it adds, changes, leaves as it is, and refuses."""

from __future__ import annotations

import pytest

from drill.rehearsals.models import Practice
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import actions

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def practice(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "practice", "member", "spot", "show", "sets practised")


def test_practice_is_added_changed_and_left(practice: Desk) -> None:
    practice.accept(["Ida Voss", "1-1", "Tidewheel", 4], ["Jon Pell", "1-2", "tidewheel", 2])
    rows: list[list[object]] = [
        ["Ida Voss", "1-1", "Tidewheel", 9],
        ["Jon Pell", "1-2", "Tidewheel", 2],
    ]
    plan = practice.plan(*rows)
    assert actions(plan) == ["change", "same"]
    assert changes(plan) == [("sets", "4", "9")]
    practice.accept(*rows)
    assert set(Practice.objects.values_list("member__person__legal_name", "sets")) == {
        ("Ida Voss", 9),
        ("Jon Pell", 2),
    }


def test_every_fault_of_practice_is_named(practice: Desk) -> None:
    assert practice.faults(
        ["Nobody Here", "1-1", "Tidewheel", 4],
        ["Ida Voss", "9-9", "Tidewheel", 4],
        ["Ida Voss", "1-1", "No such show", 4],
        ["Ida Voss", "1-1", "Tidewheel", "some"],
        ["Ida Voss", "1-1", "Tidewheel", ""],
        ["Ida Voss", "1-1", "Tidewheel", 4],
        ["Ida Voss", "1-1", "Tidewheel", 5],
    ) == [
        (2, "member"), (3, "spot"), (4, "show"), (5, "sets practised"), (6, "sets practised"),
        (8, "member"),
    ]  # fmt: skip
