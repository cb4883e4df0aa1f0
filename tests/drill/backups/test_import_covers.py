"""The import of covers: what it adds, changes, leaves, replaces, and refuses."""

from __future__ import annotations

import pytest

from bandops.lib.imports.plan import Action
from drill.lineup.models import Cover
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import faults

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def covers(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "covers", "spot", "order", "member")


def covered() -> set[tuple[str, str, int]]:
    return {(str(c.spot), c.member.name, c.order) for c in Cover.objects.all()}


def test_covers_are_added_changed_left_and_replaced(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"], ["1-2", 1, "Kit Moss"])
    kept = Cover.objects.get(spot__number=2).pk
    rows: list[list[object]] = [["1-1", 1, "Jon Pell"], ["1-1", 2, "Kit Moss"]]
    plan = covers.plan(*rows)
    assert [(line.row, line.action, line.label) for line in plan.lines] == [
        (2, Action.CHANGE, "Jon Pell covers 1-1, 1"),
        (3, Action.ADD, "Kit Moss covers 1-1, 2"),
        (0, Action.CHANGE, "Ida Voss no longer covers 1-1"),
    ]
    covers.accept(*rows)
    assert covered() == {
        ("1-1", "Jon Pell", 1),
        ("1-1", "Kit Moss", 2),
        ("1-2", "Kit Moss", 1),
    }
    assert Cover.objects.get(spot__number=2).pk == kept


def test_a_file_that_only_leaves_a_cover_out_can_be_accepted(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    plan = covers.plan(["1-1", 1, "Ida Voss"])
    assert plan.acceptable
    covers.accept(["1-1", 1, "Ida Voss"])
    assert covered() == {("1-1", "Ida Voss", 1)}


def test_two_covers_change_places(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    covers.accept(["1-1", 2, "Ida Voss"], ["1-1", 1, "Jon Pell"])
    assert covered() == {("1-1", "Ida Voss", 2), ("1-1", "Jon Pell", 1)}


def test_a_preview_is_stale_when_a_cover_it_removes_changed(covers: Desk) -> None:
    covers.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    first = covers.plan(["1-1", 1, "Kit Moss"]).digest
    Cover.objects.filter(order=2).delete()
    assert covers.plan(["1-1", 1, "Kit Moss"]).digest != first


def test_every_fault_of_covers_is_named(covers: Desk) -> None:
    assert covers.faults(
        ["9-9", 1, "Ida Voss"],
        ["11-May", 1, "Ida Voss"],
        ["1-1", 0, "Ida Voss"],
        ["1-1", "", "Ida Voss"],
        ["1-1", 1, "Nobody Here"],
        ["1-1", 1, "Dee Quill"],
        ["1-1", 1, "Ida Voss"],
        ["1-1", 2, "Ida Voss"],
        ["1-1", 1, "Jon Pell"],
    ) == [
        (2, "spot"), (3, "spot"), (4, "order"), (5, "order"), (6, "member"), (7, "member"),
        (9, "order"), (10, "order"),
    ]  # fmt: skip


def test_nothing_of_a_plan_with_faults_is_a_line_of_nobody(covers: Desk) -> None:
    assert faults(covers.plan(["1-1", 1, "Nobody Here"])) == [(2, "member")]
