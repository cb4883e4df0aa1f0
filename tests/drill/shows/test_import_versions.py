"""The import of coordinates as versions of shows: added, written anew, left, and refused."""

from __future__ import annotations

from typing import Any

import pytest

from drill.lineup.models import Lineup
from drill.shows.models import Dot, DrillSet, Position, ShowVersion
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def coordinates(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "coordinates", "show", "version", "set", "counts", "dot", "x", "y")


def points(*sets: tuple[str, int], x: float = 0, version: str = "1") -> list[list[object]]:
    return [
        ["Tidewheel", version, name, counts, dot, x + 2 * n, 28]
        for name, counts in sets
        for n, dot in enumerate(("1-1", "1-2"))
    ]


def stored() -> list[tuple[Any, ...]]:
    rows = Position.objects.order_by("set__version__order", "set__order", "dot__label")
    return list(
        rows.values_list("set__version__label", "set__label", "set__counts", "dot__label", "x")
    )


def test_a_version_is_added_left_and_written_anew(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0), ("2", 16)))
    assert stored() == [
        ("1", "1", 0, "1-1", 0),
        ("1", "1", 0, "1-2", 1440),
        ("1", "2", 16, "1-1", 0),
        ("1", "2", 16, "1-2", 1440),
    ]
    again = points(("1", 0), ("1A", 8), x=-4)
    plan = coordinates.plan(*again)
    assert changes(plan) == [
        ("sets and counts", "1 (0), 2 (16)", "1 (0), 1A (8)"),
        ("positions", "4", "4, 4 of them new or moved"),
    ]
    coordinates.accept(*again)
    assert [row[1] for row in stored()] == ["1", "1", "1A", "1A"]
    assert ShowVersion.objects.count() == 1
    assert Dot.objects.count() == 2


def test_counts_alone_and_the_order_of_sets_are_changes(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0), ("2", 16)))
    coordinates.accept(*points(("1", 0), ("2", 12)))
    assert list(DrillSet.objects.values_list("counts", flat=True)) == [0, 12]
    coordinates.accept(*points(("2", 12), ("1", 0)))
    assert list(DrillSet.objects.values_list("label", flat=True)) == ["2", "1"]


def test_another_version_and_a_new_show_stand_beside(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0)))
    other = [["Sixty Lamps Afloat", *row[1:]] for row in points(("1", 0))]
    coordinates.accept(*points(("1", 0), version="October"), *other)
    labels = ShowVersion.objects.values_list("show__name", "label", "order")
    assert set(labels) == {
        ("Tidewheel", "1", 1),
        ("Tidewheel", "October", 2),
        ("Sixty Lamps Afloat", "1", 1),
    }


def test_a_preview_is_stale_when_the_version_was_written_meanwhile(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0)))
    first = coordinates.plan(*points(("1", 0), x=4)).digest
    Position.objects.update(y=1)
    assert coordinates.plan(*points(("1", 0), x=4)).digest != first


def test_a_version_of_a_published_lineup_is_warned_of(coordinates: Desk) -> None:
    coordinates.accept(*points(("1", 0)))
    version = ShowVersion.objects.get()
    versions = {str(version.show_id): version.pk}
    Lineup.objects.create(
        event=coordinates.band.event, state="published", number=1, show_versions=versions
    )
    plan = coordinates.plan(*points(("1", 0), x=4))
    assert "published lineup" in plan.warnings[0].message
    assert not coordinates.plan(*points(("1", 0))).warnings


def test_every_fault_of_coordinates_is_named(coordinates: Desk) -> None:
    good = ["Tidewheel", "1", "1", 0, "1-1", 0, 28]

    def bad(**values: object) -> list[object]:
        keys = ("show", "version", "set", "counts", "dot", "x", "y")
        return [values.get(k, old) for k, old in zip(keys, good, strict=True)]

    found = coordinates.faults(
        bad(show=""),
        bad(set=""),
        bad(dot=""),
        bad(dot="11-May"),
        bad(counts="many"),
        bad(x="left"),
        bad(y=""),
        bad(x="1e999999999"),
        bad(x="99999999"),
        bad(show="s" * 101),
        bad(version="v" * 61),
        bad(set="s" * 21),
        bad(dot="p" * 31),
    )
    assert found == [
        (2, "show"), (3, "set"), (4, "dot"), (5, "dot"), (6, "counts"), (7, "x"), (8, "y"),
        (9, "x"), (10, "x"), (11, "show"), (12, "version"), (13, "set"), (14, "dot"),
    ]  # fmt: skip
    twice = coordinates.faults(
        good, good, bad(dot="1-2", counts=8), bad(set="2", counts=8), bad(set="2", counts=8)
    )
    assert twice == [(3, "dot"), (4, "counts"), (6, "dot")]


def test_off_the_field_and_missing_dots_are_warnings(coordinates: Desk) -> None:
    plan = coordinates.plan(*points(("1", 0)), *points(("2", 8))[:1], *points(("3", 8), x=97))
    assert not plan.faults
    assert [(w.row, w.column) for w in plan.warnings] == [(4, "set"), (5, "x"), (6, "x")]
