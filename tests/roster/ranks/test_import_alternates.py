"""The import of alternates: standings, and every fault named where it stands."""

from __future__ import annotations

import pytest
from django.test import Client

from bandops.lib.errors import Refused
from roster.ranks.imports.rank_of_part import IN_TURN
from roster.ranks.models import AlternatePlace
from tests.factories import Band, Cast
from tests.lib.import_pages import staff
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import actions, all_same, csv_file, dump, plan_of
from tests.lib.review_desk import Reviewer
from tests.roster.people.imports_roster import Rows, ranks, spot_row

__all__ = ["ranks", "staff"]

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


ROSTER = ["Name", "Instr.", "Alt #"]


def test_a_list_of_the_whole_band_names_its_alternates(band: Band, cast: Cast) -> None:
    """Without a column of ranks the part tells the rank, and who has no standing is passed."""
    band.member("New Alt", "clarinet")
    band.member("Drum Major", "clarinet")
    rows = [
        ["Ana Núñez", "trumpet", ""],
        ["New Alt", "clarinet", "Alt 1"],
        ["Drum Major", "clarinet", ""],
    ]
    plan = plan_of("alternates", csv_file(ROSTER, *rows), band.season, cast.staff)
    assert not plan.faults
    assert [w.message for w in plan.warnings] == [
        "2 rows without a standing: no alternates, left out."
    ]
    named = {line.label for line in plan.lines if line.row}
    assert named == {"New Alt, Rank 1, Clarinet, standing 1"}


def test_a_part_of_several_ranks_is_asked_about_once(band: Band, staff: Client) -> None:
    other = band.ranks["2"]
    for name in ("New Alt", "Next Alt"):
        band.member(name, "trumpet")
    rows = [["New Alt", "trumpet", "3"], ["Next Alt", "trumpet", "4"]]
    desk = Reviewer(staff, "alternates", csv_file(ROSTER, *rows))
    asked = desk.asked["Trumpet alternates"]
    assert (asked.count, [choice.label for choice in asked.likely]) == (
        2,
        ["Rank 1", "Rank 2", IN_TURN.label],
    )
    desk.answer(**{"Trumpet alternates": f"means:{other.pk}"})
    desk.save()
    assert {"New Alt", "Next Alt"} <= {name for name, _ in order(band, "2")}


def test_alternates_of_several_ranks_go_to_them_in_turn(band: Band, staff: Client) -> None:
    names = ["One Alt", "Two Alt", "Three Alt"]
    for name in names:
        band.member(name, "trumpet")
    rows = [[name, "trumpet", standing] for name, standing in zip(names, "778", strict=True)]
    desk = Reviewer(staff, "alternates", csv_file(ROSTER, *rows))
    desk.answer(**{"Trumpet alternates": "means:in-turn"})
    labels = {line.label for line in desk.plan.lines if line.row}
    assert {label.split(",")[0]: label.split(", ")[1] for label in labels} == {
        "One Alt": "Rank 1", "Two Alt": "Rank 2", "Three Alt": "Rank 1",
    }  # fmt: skip


def test_without_ranks_and_standings_a_file_is_no_list_of_alternates(
    band: Band, cast: Cast
) -> None:
    file = csv_file(ROSTER[:2], ["Ida Voss", "trumpet"])
    plan = plan_of("alternates", file, band.season, cast.staff)
    assert "No column for “rank”" in plan.faults[0].message
