"""Ranks and spots as a grid with names in its cells."""

from __future__ import annotations

from typing import Any

import pytest

from bandops.lib.imports.kinds import kind_of
from roster.ranks.models import Spot
from roster.ranks.services.spots import open_holding
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import accept_file, all_same, csv_file, faults, plan_of, xlsx_file
from tests.roster.people.imports_roster import ranks

__all__ = ["ranks"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]

Rows = list[list[object]]
TITLE: Rows = [["Fall formation"], []]
DOWN: Rows = [
    ["Rank", 1, 2, 3],
    ["1", "Ana Núñez", "Bo Larkspur", "Cai Ørnberg"],
    ["3", "Ida Voss", "Jon Pell (alt)", ""],
]
ACROSS: Rows = [
    ["Spot", "1", "3"],
    [1, "Ana Núñez", "Ida Voss"],
    [2, "Bo Larkspur", "Jon Pell (alt)"],
    [3, "Cai Ørnberg", ""],
]
WORDS_BEFORE: Rows = [["", "1", "2", "3"], ["Rank 1", *DOWN[1][1:]], ["Rank 3", *DOWN[2][1:]]]
WORDS_ABOVE: Rows = [["", "1st rank", "Rank 3"], *ACROSS[1:]]
BLOCKS: Rows = [
    ["Rank 1"],
    ["1", "2", "3"],
    ["Ana Núñez", "Bo Larkspur", "Cai Ørnberg"],
    ["Rank 3"],
    ["1", "2", "3"],
    ["Ida Voss", "Jon Pell (alt)", ""],
]
LISTS: Rows = [
    ["Rank 1:"],
    ["1", "Ana Núñez"],
    ["2", "Bo Larkspur"],
    ["3", "Cai Ørnberg"],
    ["Rank 3:"],
    ["1", "Ida Voss"],
    ["2", "Jon Pell (alt)"],
    ["3"],
]
SHAPES = {
    "ranks down": DOWN,
    "ranks across": ACROSS,
    "ranks down in words": WORDS_BEFORE,
    "ranks across in words": WORDS_ABOVE,
    "blocks": BLOCKS,
    "lists": LISTS,
}


def holders(rank: str) -> dict[str, str]:
    spots = Spot.objects.filter(rank__label=rank).select_related("rank")
    held = {spot.label: open_holding(spot=spot) for spot in spots}
    return {label: holding.member.name if holding else "" for label, holding in held.items()}


def accept(ranks: Desk, content: bytes) -> None:
    accept_file("ranks", content, ranks.band.season, ranks.cast.staff)


@pytest.mark.parametrize("titled", [False, True], ids=["", "titled"])
@pytest.mark.parametrize("shape", SHAPES)
def test_a_grid_seats_the_names_in_its_cells(ranks: Desk, shape: str, titled: bool) -> None:
    content = csv_file(*(TITLE if titled else []), *SHAPES[shape])
    accept(ranks, content)
    assert holders("3") == {"3-1": "Ida Voss", "3-2": "Jon Pell"}
    assert holders("1")["1-3"] == "Cai Ørnberg"
    again = plan_of("ranks", content, ranks.band.season, ranks.cast.staff)
    assert all_same(again), again


def test_a_new_spot_needs_the_part_its_holder_mainly_plays(ranks: Desk) -> None:
    ranks.band.member("New Tuba", "sousaphone", "trumpet")
    accept(ranks, csv_file(["Rank", "1", "2"], ["3", "New Tuba", "Ida Voss"]))
    parts = Spot.objects.filter(rank__label="3").order_by("number").values_list("part__name")
    assert [name for (name,) in parts] == ["Sousaphone", "Trumpet"]


def test_a_spot_that_is_there_keeps_its_part(ranks: Desk) -> None:
    ranks.band.member("Both Ways", "trumpet", "clarinet")
    accept(ranks, csv_file(["Rank", "4", "5"], ["1", "Both Ways", "Eno Farrow"]))
    assert Spot.objects.get(pk=ranks.band.spots["1-4"].pk).part.name == "Clarinet"
    assert holders("1")["1-4"] == "Both Ways"


def test_an_empty_cell_is_an_open_spot(ranks: Desk) -> None:
    accept(ranks, csv_file(["Rank", "1", "2"], ["1", "Ana Núñez", ""]))
    assert holders("1")["1-2"] == ""


def test_an_open_spot_that_is_new_is_left_out_and_said(ranks: Desk) -> None:
    content = csv_file(["Rank", "1", "2"], ["3", "Ida Voss", ""])
    plan = plan_of("ranks", content, ranks.band.season, ranks.cast.staff)
    assert [(w.row, w.column) for w in plan.warnings] == [(2, "2")]
    assert "left out" in plan.warnings[0].message


def test_a_fault_is_told_in_its_cell(ranks: Desk) -> None:
    content = xlsx_file(["Fall formation"], ["Rank", "1", "2"], ["1", "Ana Núñez", "Nobody Here"])
    assert faults(plan_of("ranks", content, ranks.band.season, ranks.cast.staff)) == [(3, "2")]


def notes(content: bytes) -> tuple[str, ...]:
    return kind_of("ranks").read("f.csv", content).notes


def test_alternates_and_the_shape_are_said(ranks: Desk) -> None:
    said = " ".join(notes(csv_file(*TITLE, *DOWN)))
    assert "“Fall formation” was read as a title." in said
    assert "Read as a grid of 2 ranks" in said
    assert "Marked as alternates, and seated where they are: Jon Pell." in said


@pytest.mark.parametrize(
    "rows",
    [
        [["spot", "part", "holder"], ["1-1", "trumpet", "Ana Núñez"]],
        [["rank", "spot", "part"], ["1", "1", "trumpet"]],
        [["number", "who", "horn"], ["1-1", "Ana Núñez", "trumpet"]],
        [["pos", "A", "B"], ["1-1", "trumpet", "x"]],
        [["1-1", "trumpet", "Ana Núñez"], ["1-2", "trumpet", ""]],
    ],
)
def test_a_usual_table_is_no_grid(rows: Rows) -> None:
    table: Any = kind_of("ranks").read("f.csv", csv_file(*rows))
    assert table.headers == tuple(rows[0])


def test_lettered_ranks_may_stand_across(ranks: Desk) -> None:
    accept(ranks, csv_file(["", "A", "B"], [1, "Ida Voss", "Jon Pell"], [2, "Kit Moss", ""]))
    assert holders("A") == {"A-1": "Ida Voss", "A-2": "Kit Moss"}
    assert holders("B") == {"B-1": "Jon Pell"}
