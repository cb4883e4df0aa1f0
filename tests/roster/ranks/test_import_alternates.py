"""The import of alternates: standings, and every fault named where it stands."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Refused
from roster.ranks.models import AlternatePlace
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import actions, all_same, dump, plan_of
from tests.roster.people.imports_roster import Rows, ranks, spot_row

__all__ = ["ranks"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def alternates(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "alternates", "member", "rank", "part", "standing")


def order(band: Band, rank: str = "1") -> list[tuple[str, int | None]]:
    places = AlternatePlace.objects.filter(rank=band.ranks[rank]).order_by("standing")
    return [(p.member.name, p.standing) for p in places]


def test_alternates_are_added_changed_and_left(alternates: Desk) -> None:
    alternates.band.member("New Alt", "trumpet")
    rows: Rows = [
        ["Ida Voss", "1", "trumpet", 1],
        ["New Alt", "Rank 1", "", 2],
        ["004426", "1", "trumpet", 3],
    ]
    plan = alternates.plan(*rows)
    assert actions(plan) == ["same", "add", "change"]
    assert changes(plan) == [
        ("place", "Rank 1, Trumpet, standing 2", "Rank 1, Trumpet, standing 3")
    ]
    alternates.accept(*rows)
    assert order(alternates.band) == [("Ida Voss", 1), ("New Alt", 2), ("Jon Pell", 3)]


def test_alternates_swap_standings(alternates: Desk) -> None:
    kept = set(AlternatePlace.objects.values_list("pk", "member_id"))
    alternates.accept(["Jon Pell", 1, "trumpet", 1], ["Ida Voss", 1, "trumpet", 2])
    assert order(alternates.band) == [("Jon Pell", 1), ("Ida Voss", 2)]
    assert set(AlternatePlace.objects.values_list("pk", "member_id")) == kept


def test_an_alternate_put_first_moves_the_unnamed_back_and_that_is_shown(alternates: Desk) -> None:
    plan = alternates.plan(["Jon Pell", 1, "trumpet", 1])
    assert {line.label: line.row for line in plan.lines} == {
        "Jon Pell, Rank 1, Trumpet, standing 1": 2,
        "Ida Voss, Rank 1, Trumpet, standing 2": 0,
    }
    alternates.accept(["Jon Pell", 1, "trumpet", 1])
    assert order(alternates.band) == [("Jon Pell", 1), ("Ida Voss", 2)]


def test_alternates_of_two_ranks_change_places(alternates: Desk) -> None:
    rows: Rows = [["Kit Moss", 1, "trumpet", 1], ["Ida Voss", 2, "trumpet", 1]]
    alternates.accept(*rows)
    assert order(alternates.band) == [("Kit Moss", 1), ("Jon Pell", 2)]
    assert order(alternates.band, "2") == [("Ida Voss", 1)]


def test_those_behind_one_who_leaves_move_up(alternates: Desk) -> None:
    alternates.accept(["Ida Voss", 2, "trumpet", 1])
    assert order(alternates.band) == [("Jon Pell", 1)]
    assert order(alternates.band, "2") == [("Ida Voss", 1), ("Kit Moss", 2)]


def test_without_standings_the_file_s_order_counts(alternates: Desk) -> None:
    alternates.accept(["Jon Pell", 1, "trumpet", ""], ["Ida Voss", 1, "trumpet", ""])
    assert order(alternates.band) == [("Jon Pell", 1), ("Ida Voss", 2)]
    alternates.band.member("New Alt", "trumpet")
    alternates.accept(["New Alt", 1, "trumpet", ""])
    assert order(alternates.band)[-1] == ("New Alt", 3)
    assert all_same(alternates.plan(["Jon Pell", 1, "trumpet", ""]))


def test_a_gap_in_the_standings_goes_out_and_comes_in(alternates: Desk) -> None:
    AlternatePlace.objects.filter(member=alternates.band.members["Ida Voss"]).delete()
    assert all_same(alternates.plan(["Jon Pell", 1, "trumpet", 2]))


def test_every_fault_of_alternates_is_named(alternates: Desk) -> None:
    partless = alternates.band.member("Part Less", "trumpet")
    partless.qualifications.update(main=False)
    assert alternates.faults(
        ["Nobody Here", 1, "trumpet", 1],
        ["Ida Voss", 9, "trumpet", 1],
        ["Ida Voss", "", "trumpet", 1],
        ["Ida Voss", 1, "kazoo", 1],
        ["Ida Voss", 1, "clarinet", 1],
        ["Ana Núñez", 1, "trumpet", 1],
        ["Ida Voss", 1, "trumpet", "best"],
        ["Ida Voss", 1, "trumpet", 0],
        ["Ida Voss", 1, "trumpet", 1],
        ["Jon Pell", 1, "trumpet", 1],
        ["Ida Voss", 2, "trumpet", 1],
        ["Part Less", 1, "", 4],
    ) == [
        (2, "member"),
        (3, "rank"),
        (4, "rank"),
        (5, "part"),
        (6, "member"),
        (7, "member"),
        (8, "standing"),
        (9, "standing"),
        (11, "standing"),
        (12, "member"),
        (13, "part"),
    ]


def test_a_preview_is_stale_when_an_unnamed_alternate_moved(alternates: Desk) -> None:
    content = alternates.file(["Jon Pell", 1, "trumpet", 1])
    first = plan_of("alternates", content, alternates.band.season, alternates.cast.staff)
    AlternatePlace.objects.filter(member=alternates.band.members["Ida Voss"]).delete()
    again = plan_of("alternates", content, alternates.band.season, alternates.cast.staff)
    assert first.digest != again.digest


def test_faults_save_nothing(ranks: Desk) -> None:
    before = dump()
    with pytest.raises(Refused):
        ranks.accept(spot_row("1-9", "trumpet"), spot_row("1-10", "kazoo"))
    assert dump() == before
