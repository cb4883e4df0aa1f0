"""Explanations: each claim holds when the changed problem is solved."""

from __future__ import annotations

from dataclasses import replace

from drill.lineup.core.changes import Change
from drill.lineup.core.cure import CureKind
from drill.lineup.core.explain import if_away, why_moved, why_stand_in, with_moves
from drill.lineup.core.holes import why_hole
from drill.lineup.core.problem import Block, Level, Origin, Pin
from drill.lineup.core.solver import solve
from tests.drill.lineup.core.tiny import SEGMENT, section, thin_section

EVERYBODY = frozenset({"Quinn", "Rosa", "Theo", "Uma", "Xen", "Yve"})


def test_a_direct_fill_leaves_all_others_where_they_are() -> None:
    problem = thin_section(away=["Rosa"])
    answer = solve(problem)
    assert answer.at(SEGMENT, "S2").member == "Yve", "standing 1 of S2 is Yve, Xen's part is S1"
    assert answer.value(Level.MOVED) == 0


def test_a_chain_is_used_only_when_it_fills_a_hole() -> None:
    problem = thin_section(away=["Theo"])
    answer = solve(problem)
    assert answer.at(SEGMENT, "S3").member == "Quinn"
    assert answer.at(SEGMENT, "S1").member == "Xen"
    still = with_moves(problem, answer, 0)
    assert still is not None
    assert still.decided_at is Level.HOLES
    assert dict(still.price)[Level.HOLES] == 1
    chain = with_moves(problem, answer, 1)
    assert chain is not None and chain.price == ()


def test_two_absences_that_cannot_be_answered_together_leave_a_hole() -> None:
    answer = solve(thin_section(away=["Quinn", "Theo"]))
    assert [p.spot for p in answer.holes] == ["S3"]


def test_a_hole_names_its_numbers_and_only_cures_that_work() -> None:
    problem = thin_section(away=["Uma"])
    why = why_hole(problem, solve(problem), (SEGMENT, "S4"), EVERYBODY)
    assert why.spots == ((SEGMENT, "S4"),)
    assert why.members == ()
    kinds = {(c.kind, c.member) for c in why.cures}
    assert kinds == {
        (CureKind.BACK, "Uma"),
        (CureKind.LESSON, "Xen"),
        (CureKind.LESSON, "Yve"),
        (CureKind.LESSON, "Quinn"),
        (CureKind.LESSON, "Rosa"),
        (CureKind.LESSON, "Theo"),
    }
    assert {c.member for c in why.cures[1:3]} == {"Xen", "Yve"}, "who stands nowhere first"


def test_nobody_who_is_not_cleared_is_named_as_a_cure() -> None:
    problem = thin_section(away=["Uma"])
    why = why_hole(problem, solve(problem), (SEGMENT, "S4"), EVERYBODY - {"Uma"})
    assert all(c.kind is not CureKind.BACK for c in why.cures)


def test_a_block_that_makes_a_hole_is_named() -> None:
    problem = replace(thin_section(), blocks=(Block("Uma"),))
    why = why_hole(problem, solve(problem), (SEGMENT, "S4"), EVERYBODY)
    assert (CureKind.UNBLOCK, "Uma") in {(c.kind, c.member) for c in why.cures}


def test_a_short_stock_says_that_a_rule_binds_and_one_instrument_cures_it() -> None:
    problem = section(["S1", "S2"], {"A": ["S1"], "B": ["S2"]}, stock=(("horn", 1),))
    answer = solve(problem)
    hole = answer.holes[0]
    why = why_hole(problem, answer, (SEGMENT, hole.spot), frozenset({"A", "B"}))
    assert why.free, "somebody who could march it stands nowhere"
    assert [c.kind for c in why.cures] == [CureKind.INSTRUMENT]


def test_the_runner_up_is_who_marches_when_the_stand_in_does_not() -> None:
    problem = thin_section(away=["Rosa"])
    why = why_stand_in(problem, solve(problem), (SEGMENT, "S2"))
    assert why is not None
    assert why.runner_up == "Xen"
    assert why.decided_at is Level.STANDING


def test_a_pinned_seat_needs_no_reason() -> None:
    problem = replace(thin_section(away=["Rosa"]), pins=(Pin(SEGMENT, "S2", "Xen"),))
    answer = solve(problem)
    assert answer.at(SEGMENT, "S2").origin is Origin.PINNED
    assert why_stand_in(problem, answer, (SEGMENT, "S2")) is None


def test_a_moved_holder_says_what_would_break_otherwise() -> None:
    problem = thin_section(away=["Theo"])
    stay = why_moved(problem, solve(problem), (SEGMENT, "S1"), "Quinn")
    assert stay is not None
    assert stay.price[0] == (Level.HOLES, 1)


def test_what_if_somebody_were_out_too() -> None:
    problem = thin_section()
    other = if_away(problem, solve(problem), "Theo", [SEGMENT])
    assert other is not None
    what = {(c.member, c.change) for c in other.changes}
    assert what == {
        ("Theo", Change.STEPS_OUT),
        ("Quinn", Change.MOVES),
        ("Xen", Change.STEPS_IN),
    }
