"""Open spots: every single change that fills one, and none that does not."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import HealthCheck, assume, given

from drill.lineup.core.cure import Cure, CureKind
from drill.lineup.core.holes import why_hole
from drill.lineup.core.problem import Block, LineupProblem
from drill.lineup.core.solver import ContradictoryPins, NoLineup, solve
from tests.drill.lineup.core.tiny import SEGMENT, section, thin_section
from tests.examples import examples
from tests.reference.single_changes import cures_by_looking
from tests.reference.tiny import tiny_problems

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]


@examples(60, long=2000, suppress_health_check=SLOW)
@given(tiny_problems())
def test_all_single_changes_that_fill_a_hole_are_named_and_no_other(
    problem: LineupProblem,
) -> None:
    problem = replace(problem, max_moved=None)
    try:
        answer = solve(problem)
    except (ContradictoryPins, NoLineup):
        assume(False)
    assume(answer.holes)
    everybody = frozenset(m.key for m in problem.members)
    filled = [(p.segment, p.spot) for p in answer.placements if p.member]
    for hole in answer.holes:
        seat = (hole.segment, hole.spot)
        why = why_hole(problem, answer, seat, everybody)
        reached = {spot for _, spot in why.spots}
        parts = {s.part for s in problem.spots if s.key in reached}
        expected = cures_by_looking(problem, seat, parts, filled)
        assert set(why.cures) == expected, seat
        assert len(set(why.cures)) == len(why.cures)


def test_more_than_five_who_could_come_back_are_all_named() -> None:
    nobody = [f"M{n}" for n in range(8)]
    problem = section(["S"], {name: ["S"] for name in nobody}, away=nobody)
    why = why_hole(problem, solve(problem), (SEGMENT, "S"), frozenset(nobody))
    assert [c.member for c in why.cures if c.kind is CureKind.BACK] == nobody


def test_a_block_is_named_with_its_spot_and_one_elsewhere_is_no_cure() -> None:
    problem = thin_section(away=["Theo"])
    blocks = (Block("Quinn", SEGMENT, "S3"), Block("Yve", None, "S2"))
    problem = replace(problem, blocks=blocks)
    why = why_hole(problem, solve(problem), (SEGMENT, "S3"), frozenset())
    unblocked = {c for c in why.cures if c.kind is CureKind.UNBLOCK}
    assert unblocked == {Cure(CureKind.UNBLOCK, "Quinn", segment=SEGMENT, spot="S3")}
