"""What stands in a grid's cells beside names: open spots, leaders' marks, brackets."""

from __future__ import annotations

import pytest
from django.test import Client

from roster.people.models import KeptWord
from roster.ranks.imports.holder_cells import HolderCell, read_holder
from roster.ranks.models import Rank, Spot
from tests.factories import Band, Cast
from tests.lib.import_pages import staff
from tests.lib.imports_help import accept_file, all_same, csv_file, plan_of
from tests.lib.review_desk import Reviewer
from tests.roster.ranks.test_import_grids import holders

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.mark.parametrize(
    ("text", "cell"),
    [
        ("Jon Pell", HolderCell("Jon Pell")),
        ("Jon Pell (RL)", HolderCell("Jon Pell", "RL")),
        ("[al] Jon Pell", HolderCell("Jon Pell", "al")),
        ("Jon (JP) Pell (Asst. Leader)", HolderCell("Jon (JP) Pell", "Asst. Leader")),
        ("Jon Pell RL", HolderCell("Jon Pell", "RL")),
        ("Jon Pell - SL", HolderCell("Jon Pell", "SL")),
        ("RL: Jon Pell", HolderCell("Jon Pell", "RL")),
        ("PELL, AL", HolderCell("PELL, AL")),
        ("Al Pell", HolderCell("Al Pell")),
        ("TBD", HolderCell("", open=True)),
        ("Vacant", HolderCell("", open=True)),
        ("-", HolderCell("", open=True)),
        ("", HolderCell("")),
    ],
)
def test_a_cell_is_a_name_a_mark_or_nobody(text: str, cell: HolderCell) -> None:
    assert read_holder(text) == cell


def parts(rank: str) -> list[tuple[str, str]]:
    spots = Spot.objects.filter(rank__label=rank).order_by("number")
    return [(spot.label, spot.part.name) for spot in spots]


@pytest.mark.parametrize("word", ["", "OPEN", "-", "TBD", "vacant"])
def test_an_open_cell_is_a_spot_of_the_rank_s_part(band: Band, cast: Cast, word: str) -> None:
    content = csv_file(["Rank", "1", "2", "3", "4"], ["3", "Ida Voss", word, "Jon Pell", ""])
    accept_file("ranks", content, band.season, cast.staff)
    assert parts("3") == [("3-1", "Trumpet"), ("3-2", "Trumpet"), ("3-3", "Trumpet")]
    assert holders("3")["3-2"] == ""
    assert all_same(plan_of("ranks", content, band.season, cast.staff))


def test_a_word_for_nobody_opens_a_spot_at_the_end_too(band: Band, cast: Cast) -> None:
    content = csv_file(["Rank", "1", "2"], ["3", "Ida Voss", "open"])
    accept_file("ranks", content, band.season, cast.staff)
    assert [label for label, _ in parts("3")] == ["3-1", "3-2"]


def test_a_rank_of_several_parts_is_asked_about_once(band: Band, staff: Client) -> None:
    band.member("New Reed", "clarinet")
    rows = [["Rank", "1", "2", "3", "4"], ["3", "Ida Voss", "open", "New Reed", "open"]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    asked = desk.asked["Rank 3"]
    assert [choice.value for choice in asked.likely] == ["trumpet", "clarinet"]
    desk.answer(**{"Rank 3": "means:clarinet"})
    assert not desk.plan.faults
    desk.save()
    assert [name for _, name in parts("3")] == ["Trumpet", "Clarinet", "Clarinet", "Clarinet"]


def test_open_cells_may_be_no_spots(band: Band, staff: Client) -> None:
    desk = Reviewer(staff, "ranks", csv_file(["Rank", "1", "2"], ["3", "open", "-"], ["1", "", ""]))
    desk.answer(**{"Rank 3": "means:no-spot"})
    assert not desk.plan.faults
    assert sum("left out" in warning.message for warning in desk.plan.warnings) == 2


def test_marks_name_the_leaders_of_a_rank(band: Band, staff: Client) -> None:
    rows = [["Rank", "1", "2"], ["3", "Ida Voss (RL)", "Jon Pell AL"]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    assert "Marked as leaders, and named so: Ida Voss (RL), Jon Pell AL." in desk.text
    desk.save()
    rank = Rank.objects.get(label="3")
    assert (str(rank.leader), str(rank.assistant_leader)) == ("Ida Voss", "Jon Pell")


def test_a_section_leader_s_mark_is_asked_about_once(band: Band, staff: Client) -> None:
    rows = [["Rank", "1", "2"], ["3", "Ida Voss (SL)", ""], ["4", "Jon Pell (SL)", ""]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    assert desk.asked["SL"].count == 2
    desk.answer(SL="means:none")
    desk.save()
    assert Rank.objects.get(label="3").leader is None


def test_what_a_sign_behind_names_means_is_asked_about_once(band: Band, staff: Client) -> None:
    rows = [["Rank", "1", "2"], ["3", "Ida Voss*", "Jon Pell ^"], ["4", "*Kit Moss", ""]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    assert (desk.asked["*"].count, desk.asked["^"].count) == (2, 1)
    desk.answer(**{"*": "means:leader", "^": "means:assistant_leader"})
    desk.save()
    leaders = {r.label: str(r.leader) for r in Rank.objects.filter(label__in=("3", "4"))}
    assert leaders == {"3": "Ida Voss", "4": "Kit Moss"}
    assert str(Rank.objects.get(label="3").assistant_leader) == "Jon Pell"


def test_two_of_one_name_are_known_by_what_they_play(band: Band, staff: Client) -> None:
    """What stands in brackets tells them apart; each is a word of its own."""
    band.member("Emma Jory", "trumpet")
    band.member("Emma Jory", "clarinet")
    rows = [["Rank", "1", "2"], ["8", "Emma Jory (Tpt)", ""], ["9", "Emma Jory (Clar)", ""]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    assert not desk.asked
    assert not any("is not read" in warning.message for warning in desk.plan.warnings)
    desk.save()
    assert [name for rank in "89" for _, name in parts(rank)] == ["Trumpet", "Clarinet"]


def test_other_brackets_are_a_nickname_or_told(band: Band, cast: Cast) -> None:
    person = band.members["Jon Pell"].person
    person.used_name = "Jojo Pell"
    person.save()
    rows = [["Rank", "1", "2", "3"], ["3", "Ida Voss (2)", "Jon Pell (Jojo)", "Kit Moss (late)"]]
    plan = plan_of("ranks", csv_file(*rows), band.season, cast.staff)
    assert not plan.faults
    assert [warning.message for warning in plan.warnings] == [
        "“(2)” next to Ida Voss is not read.",
        "“(late)” next to Kit Moss is not read.",
    ]


@pytest.mark.parametrize("written", ["Voss", "I. Voss", "Ida"])
def test_a_name_that_only_one_member_has_is_read(band: Band, staff: Client, written: str) -> None:
    rows = [["Rank", "1", "2"], ["3", written, "Jon Pell"]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    assert set(desk.read) == {written}
    desk.save()
    assert holders("3")["3-1"] == "Ida Voss"
    assert not KeptWord.objects.exists(), "somebody else of the name may join"


def test_a_name_that_two_members_have_stays_open(band: Band, staff: Client) -> None:
    band.member("Una Voss", "trumpet")
    rows = [["Rank", "1", "2"], ["3", "Voss", "Jon Pell"]]
    assert set(Reviewer(staff, "ranks", csv_file(*rows)).asked) == {"Voss"}


def test_a_name_may_mean_nobody(band: Band, staff: Client) -> None:
    rows = [["Rank", "1", "2"], ["3", "Ida Voss", "Zzyx Quorn"]]
    desk = Reviewer(staff, "ranks", csv_file(*rows))
    assert "Leave these rows out" not in desk.text, "it would leave out all of the rank"
    desk.answer(Zzyx_Quorn="means:nobody")
    desk.save()
    assert holders("3") == {"3-1": "Ida Voss", "3-2": ""}
