"""The import of backups: what it adds, changes, leaves, replaces, and refuses."""

from __future__ import annotations

import pytest

from bandops.lib.imports.plan import Action
from drill.lineup.models import Backup
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import faults

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def backups(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "backups", "spot", "order", "member")


def backed_up() -> set[tuple[str, str, int]]:
    return {(str(c.spot), c.member.name, c.order) for c in Backup.objects.all()}


def test_backups_are_added_changed_left_and_replaced(backups: Desk) -> None:
    backups.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"], ["1-2", 1, "Kit Moss"])
    kept = Backup.objects.get(spot__number=2).pk
    rows: list[list[object]] = [["1-1", 1, "Jon Pell"], ["1-1", 2, "Kit Moss"]]
    plan = backups.plan(*rows)
    assert [(line.row, line.action, line.label) for line in plan.lines] == [
        (2, Action.CHANGE, "Jon Pell is a backup for 1-1, 1"),
        (3, Action.ADD, "Kit Moss is a backup for 1-1, 2"),
        (0, Action.CHANGE, "Ida Voss is no longer a backup for 1-1"),
    ]
    backups.accept(*rows)
    assert backed_up() == {
        ("1-1", "Jon Pell", 1),
        ("1-1", "Kit Moss", 2),
        ("1-2", "Kit Moss", 1),
    }
    assert Backup.objects.get(spot__number=2).pk == kept


def test_a_file_that_only_leaves_a_backup_out_can_be_accepted(backups: Desk) -> None:
    backups.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    plan = backups.plan(["1-1", 1, "Ida Voss"])
    assert plan.acceptable
    backups.accept(["1-1", 1, "Ida Voss"])
    assert backed_up() == {("1-1", "Ida Voss", 1)}


def test_two_backups_change_places(backups: Desk) -> None:
    backups.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    backups.accept(["1-1", 2, "Ida Voss"], ["1-1", 1, "Jon Pell"])
    assert backed_up() == {("1-1", "Ida Voss", 2), ("1-1", "Jon Pell", 1)}


def test_a_preview_is_stale_when_a_backup_it_removes_changed(backups: Desk) -> None:
    backups.accept(["1-1", 1, "Ida Voss"], ["1-1", 2, "Jon Pell"])
    first = backups.plan(["1-1", 1, "Kit Moss"]).digest
    Backup.objects.filter(order=2).delete()
    assert backups.plan(["1-1", 1, "Kit Moss"]).digest != first


def test_every_fault_of_backups_is_named(backups: Desk) -> None:
    assert backups.faults(
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


def test_nothing_of_a_plan_with_faults_is_a_line_of_nobody(backups: Desk) -> None:
    assert faults(backups.plan(["1-1", 1, "Nobody Here"])) == [(2, "member")]


def test_the_order_may_be_headed_cover(band: Band, cast: Cast) -> None:
    Desk(band, cast, "backups", "spot", "cover", "member").accept(["1-1", 1, "Ida Voss"])
    assert backed_up() == {("1-1", "Ida Voss", 1)}
