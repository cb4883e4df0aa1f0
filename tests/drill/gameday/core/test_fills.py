"""Who could step in at once."""

from __future__ import annotations

import pytest

from drill.field.core.field import UNITS_PER_STEP
from drill.gameday.core.fills import (
    Asked,
    Field,
    Learning,
    chain_choices,
    direct_choices,
    seats_of_member,
)
from drill.lineup.core.problem import Backup, LineupProblem, Member, Part, Segment, Skill, Spot
from drill.lineup.core.relearn import Load

T = (Skill("trumpet"),)


def asks(new: int, total: int, steps: float | None = None) -> Load:
    """A load by its sets and its largest distance in steps."""
    largest = None if steps is None else steps * UNITS_PER_STEP
    return Load(total, new, total - new, largest or 0, largest, "17" if steps else "", 0, (), new)


def s6() -> Field:
    """S6: 7-2 is open; Hana is an alternate, Ben holds 7-6."""
    members = (
        Member("ben", T, holds="7-6", rank="7"),
        Member("gil", T, holds="7-2", rank="7"),
        Member("hana", T, rank="7", standing=1, standing_part="trumpet"),
    )
    problem = LineupProblem(
        members,
        (Spot("7-2", "7", "trumpet"), Spot("7-6", "7", "trumpet")),
        (Segment("half", ("7-2", "7-6")),),
        (Part("trumpet", "trumpet"),),
    )
    learning = Learning(
        {"half": "tide"},
        {
            ("hana", "7-2", "tide"): asks(18, 30, 9.0),
            ("hana", "7-6", "tide"): asks(0, 30),
            ("ben", "7-2", "tide"): asks(4, 30, 2.0),
        },
    )
    return Field(problem, {("half", "7-2"): "gil", ("half", "7-6"): "ben"}, learning)


def test_straight_or_chain() -> None:
    field = s6()
    seats = seats_of_member(field, "gil", {"half"})
    (direct,) = direct_choices(field, seats, "gil")
    assert (direct.member, direct.people) == ("hana", 1)
    assert direct.asked == (Asked("hana", 18, 30, asks(18, 30, 9.0)),)
    (chain,) = chain_choices(field, seats, "gil")
    assert chain.people == 2
    assert {one.member: one.new for one in chain.asked} == {"ben": 4, "hana": 0}
    assert {(m.member, m.before, m.spot) for m in chain.moves} == {
        ("ben", "7-6", "7-2"),
        ("hana", None, "7-6"),
    }


def test_a_chain_that_costs_no_less_is_not_offered() -> None:
    field = s6()
    knows = {**field.learning.loads, ("hana", "7-2", "tide"): asks(0, 30)}
    lazy = Learning(field.learning.shows, knows)
    assert chain_choices(Field(field.problem, field.seats, lazy), (("half", "7-2"),), "gil") == []


def three(**away: str) -> Field:
    """Two segments; Ros stands on 4-2 in both; Dev and Lena are its backups, Kim stands by."""

    def out(key: str) -> frozenset[str]:
        return frozenset(away.get(key, "").split())

    def alternate(key: str, rank: str, standing: int) -> Member:
        return Member(key, T, rank=rank, standing=standing, standing_part="trumpet", away=out(key))

    problem = LineupProblem(
        (
            alternate("dev", "5", 1),
            alternate("kim", "4", 1),
            alternate("lena", "5", 2),
            Member("ros", T, holds="4-2", rank="4", away=out("ros")),
            Member("tub", (Skill("tuba"),), rank="4", standing=1, standing_part="tuba"),
        ),
        (Spot("4-2", "4", "trumpet"),),
        (Segment("half", ("4-2",)), Segment("pre", ("4-2",))),
        (Part("trumpet", "trumpet"), Part("tuba", "tuba")),
        backups=(Backup("4-2", "lena", 2), Backup("4-2", "dev", 1)),
    )
    return Field(problem, {("half", "4-2"): "ros", ("pre", "4-2"): "ros"}, Learning())


def names(field: Field) -> list[str]:
    seats = seats_of_member(field, "ros", {"half", "pre"})
    return [c.member for c in direct_choices(field, seats, "ros")]


def test_backups_come_in_their_order_then_the_ranks_alternates() -> None:
    assert names(three()) == ["dev", "lena", "kim"]


@pytest.mark.parametrize(
    ("away", "expected"),
    [
        ({"dev": "half pre"}, ["lena", "kim"]),
        ({"dev": "pre"}, ["lena", "kim", "dev"]),
        ({"dev": "pre", "lena": "half", "kim": "half pre"}, ["dev", "lena"]),
    ],
)
def test_who_misses_a_segment_comes_later_or_not_at_all(
    away: dict[str, str], expected: list[str]
) -> None:
    assert names(three(**away)) == expected


def test_what_a_choice_leaves_open_is_said() -> None:
    field = three(dev="pre", lena="half pre", kim="half pre")
    (only,) = direct_choices(field, seats_of_member(field, "ros", {"half", "pre"}), "ros")
    assert only.lacking == (("pre", "4-2"),)
    assert [m.segment for m in only.moves] == ["half"]


def test_a_show_in_two_segments_is_learned_once() -> None:
    learning = Learning({"half": "tide", "pre": "tide"}, {("a", "4-2", "tide"): asks(15, 24)})
    seats = (("half", "4-2"), ("pre", "4-2"))
    assert learning.of(Member("a", T), seats) == (asks(15, 24),)
    assert learning.of(Member("b", T, holds="4-2"), seats) == ()
