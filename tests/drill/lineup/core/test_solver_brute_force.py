"""The solver against every lineup there is, on hundreds of tiny random bands."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from drill.lineup.core.canonical import problem_hash
from drill.lineup.core.check import violations
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.level_values import level_values
from drill.lineup.core.problem import (
    Level,
    LineupProblem,
    Member,
    Origin,
    Part,
    Placement,
    Segment,
    Skill,
    Spot,
)
from drill.lineup.core.solver import ContradictoryPins, Lineup, NoLineup, Stage, solve
from drill.lineup.core.solver.certificate import certify
from tests.examples import examples
from tests.reference import evaluate
from tests.reference.brute_force import brute_force
from tests.reference.tiny import tiny_problems

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]
many = examples(100, long=3000, suppress_health_check=SLOW)
some = examples(50, long=1000, suppress_health_check=SLOW)


def solved(problem: LineupProblem) -> Lineup | None:
    try:
        return solve(problem)
    except (ContradictoryPins, NoLineup):
        return None


@many
@given(tiny_problems())
def test_every_level_equals_the_best_of_all_lineups(problem: LineupProblem) -> None:
    best = brute_force(problem)
    if best is None:
        expected = ContradictoryPins if evaluate.pins_contradict(problem) else NoLineup
        with pytest.raises(expected):
            solve(problem)
        return
    lineup = solve(problem)
    assert tuple(result.level for result in lineup.levels) == tuple(Level)
    assert tuple(result.value for result in lineup.levels) == best.values
    assert all(r.bound == r.value for r in lineup.levels if r.proven)
    assert all(r.bound is None or r.bound <= r.value for r in lineup.levels)


@many
@given(tiny_problems())
def test_the_placements_keep_every_rule_and_have_the_values_claimed(problem: LineupProblem) -> None:
    lineup = solved(problem)
    if lineup is None:
        return
    assert evaluate.broken_rules(problem, lineup.placements) == []
    assert violations(problem, lineup.placements) == ()
    claimed = {result.level: result.value for result in lineup.levels}
    assert evaluate.evaluate(problem, lineup.placements) == claimed


@many
@given(tiny_problems())
def test_a_proven_lineup_carries_a_certificate_that_holds(problem: LineupProblem) -> None:
    lineup = solved(problem)
    if lineup is None:
        return
    assert lineup.proven
    if lineup.stage is Stage.CONSTRAINT:
        assert lineup.certificate is None
    else:
        assert certify(problem, lineup)


@many
@given(tiny_problems(), st.data())
def test_a_worse_lineup_does_not_pass_with_the_same_certificate(
    problem: LineupProblem, data: st.DataObject
) -> None:
    lineup = solved(problem)
    if lineup is None or lineup.certificate is None:
        return
    filled = [i for i, p in enumerate(lineup.placements) if p.origin is Origin.STANDS_IN]
    if not filled:
        return
    emptied = data.draw(st.sampled_from(filled))
    worse = list(lineup.placements)
    worse[emptied] = replace(worse[emptied], member=None, origin=Origin.HOLE)
    assert not certify(problem, replace(lineup, placements=tuple(worse)))


@many
@given(tiny_problems(), st.data())
def test_the_checker_sees_what_the_definitions_see(
    problem: LineupProblem, data: st.DataObject
) -> None:
    """Any placements at all, most of them against some rule."""
    people = st.sampled_from([None, *(member.key for member in problem.members)])
    placements = []
    for segment, spot in evaluate.seats_of(problem):
        member = data.draw(people)
        if (segment, spot) in problem.left_open:
            member = None
        origin = evaluate.expected_origin(problem, segment, spot, member)
        placements.append(Placement(segment, spot, member, origin))
    sound = evaluate.broken_rules(problem, placements) == []
    assert (violations(problem, placements) == ()) is sound
    if sound:
        assert level_values(problem, placements) == evaluate.evaluate(problem, placements)


@some
@given(tiny_problems(), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(problem: LineupProblem, rng: Any) -> None:
    def shuffled(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(rng.sample(rows, len(rows)))

    other = replace(
        problem,
        members=tuple(
            replace(m, skills=shuffled(m.skills), lacks=shuffled(m.lacks))
            for m in shuffled(problem.members)
        ),
        spots=shuffled(problem.spots),
        segments=tuple(replace(g, spots=shuffled(g.spots)) for g in shuffled(problem.segments)),
        parts=shuffled(problem.parts),
        ranks=shuffled(problem.ranks),
        reference=shuffled(problem.reference),
        pins=shuffled(problem.pins),
        blocks=shuffled(problem.blocks),
        backups=shuffled(problem.backups),
        relearning=Lessons.of(shuffled(tuple(problem.relearning))),
        stock=shuffled(problem.stock),
        wears=shuffled(problem.wears),
        spares=shuffled(problem.spares),
    )
    assert problem_hash(other) == problem_hash(problem)
    assert solved(other) == solved(problem)


@some
@given(tiny_problems(), st.integers(0, 1000))
def test_the_salt_decides_nothing_but_ties(problem: LineupProblem, salt: int) -> None:
    lineup = solved(problem)
    other = solved(replace(problem, settings=replace(problem.settings, salt=salt)))
    assert (lineup is None) == (other is None)
    if lineup is not None and other is not None:
        assert [r.value for r in lineup.levels[:-1]] == [r.value for r in other.levels[:-1]]


@some
@given(tiny_problems())
def test_solving_leaves_the_answer_as_it_is_when_it_is_the_reference(
    problem: LineupProblem,
) -> None:
    """Publish, solve again without a change: nobody moves."""
    problem = replace(problem, max_moved=None)
    lineup = solved(problem)
    if lineup is None:
        return
    reference = tuple(((p.segment, p.spot), p.member) for p in lineup.placements if p.member)
    again = solve(replace(problem, reference=reference))
    assert again.levels[Level.MOVED - 1].value == 0
    assert {(p.segment, p.spot, p.member) for p in again.placements} >= {
        (segment, spot, member) for (segment, spot), member in reference
    }


def _plain(count: int) -> LineupProblem:
    """A band of ``count`` holders on their own spots, one alternate, all of one part."""
    spots = tuple(Spot(f"1-{n}", "1", "a") for n in range(count))
    skill = (Skill("a", own_instrument=True),)
    holders = tuple(Member(f"h{n}", skill, holds=f"1-{n}", rank="1") for n in range(count))
    alternate = Member("alt", skill, rank="1", standing=1, standing_part="a")
    return LineupProblem(
        members=(*holders, alternate),
        spots=spots,
        segments=(Segment("g", tuple(s.key for s in spots)),),
        parts=(Part("a", "alpha"),),
        reference=tuple((("g", f"1-{n}"), f"h{n}") for n in range(count)),
    )


@pytest.mark.source(
    "Minimal perturbation, El Sakkout & Wallace 2000, Constraints 5:359 (from memory): "
    "with nothing disturbed, nothing changes"
)
@pytest.mark.parametrize("count", [1, 2, 15])
def test_nobody_absent_means_no_change(count: int) -> None:
    lineup = solve(_plain(count))
    assert {p.origin for p in lineup.placements} == {Origin.HOLDS}
    assert [r.value for r in lineup.levels[:-1]] == [0] * 7


@pytest.mark.parametrize("count", [1, 2, 15])
def test_one_absent_means_one_change(count: int) -> None:
    problem = _plain(count)
    first = replace(problem.members[0], away=frozenset({"g"}))
    lineup = solve(replace(problem, members=(first, *problem.members[1:])))
    assert lineup.at("g", "1-0").member == "alt"
    assert sum(p.origin is Origin.HOLDS for p in lineup.placements) == count - 1
