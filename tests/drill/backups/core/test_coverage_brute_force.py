"""Coverage against its definition, tried out in full on hundreds of tiny random bands."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

from hypothesis import HealthCheck, assume, given
from hypothesis import strategies as st

from drill.backups.core.coverage import (
    Answer,
    SegmentCoverage,
    SpotCoverage,
    State,
    coverage,
    failing_pairs,
    lessons,
)
from drill.lineup.core.check import Rule, violations
from drill.lineup.core.problem import LineupProblem, Origin, Placement
from drill.lineup.core.solver import ContradictoryPins, NoLineup, solve
from tests.examples import examples
from tests.reference.coverage import Reference
from tests.reference.staffed import staffed_problems, with_tight_limits
from tests.reference.tiny import tiny_problems

many = examples(100, long=2500, suppress_health_check=list(HealthCheck))
some = examples(50, long=1200, suppress_health_check=list(HealthCheck))


@st.composite
def lineups(
    draw: st.DrawFn, *, side_rules: bool, learning: bool = False
) -> tuple[LineupProblem, tuple[Placement, ...], frozenset[tuple[str, str]] | None]:
    """A tiny problem, its lineup with a few seats emptied by hand, and what members know."""
    problem = draw(st.one_of(tiny_problems(), staffed_problems(), staffed_problems()))
    if not side_rules:
        problem = replace(problem, stock=(), wears=(), travel_limit=None, max_moved=None)
    try:
        placements = list(solve(problem).placements)
    except (ContradictoryPins, NoLineup):
        placements = []
    assume(any(p.member for p in placements))
    for n, p in enumerate(placements):
        if p.member is not None and draw(st.integers(0, 19)) == 19:
            placements[n] = replace(p, member=None, origin=Origin.HOLE)
    if side_rules and draw(st.integers(0, 3)) > 0:
        problem = with_tight_limits(draw, problem, tuple(placements))
    pairs = [(m.key, s.key) for m in problem.members for s in problem.spots]
    known = None
    if learning or draw(st.booleans()):
        share = draw(st.sampled_from((1, 2, 3)))
        known = frozenset(pair for pair in pairs if draw(st.integers(0, share)) > 0)
    return problem, tuple(placements), known


def rows(found: Iterable[SegmentCoverage]) -> list[tuple[SegmentCoverage, SpotCoverage]]:
    return [(segment, spot) for segment in found for spot in segment.spots]


@many
@given(lineups(side_rules=False))
def test_every_absence_state_and_name_is_what_trying_everything_finds(lineup: Any) -> None:
    problem, placements, known = lineup
    reference = Reference(problem, placements, known)
    for segment, spot in rows(coverage(problem, placements, known=known)):
        seat = (segment.segment, spot.spot)
        assert spot.member == reference.stands.get(seat)
        if spot.member is None:
            assert spot.state is State.HOLE
            continue
        moves = reference.fewest_moves(seat)
        assert (spot.answer is Answer.NONE) == (spot.state is State.BARE) == (moves is None)
        assert spot.rule is None and spot.exact
        if moves is None:
            assert not spot.moves and not spot.answers and not spot.hangs_on
            continue
        assert len(spot.moves) == moves
        assert (spot.answer is Answer.DIRECT) == (moves == 1)
        assert set(spot.hangs_on) == reference.hangs_on(seat)
        assert (spot.state is State.THIN) == bool(spot.hangs_on)
        assert spot.answers == reference.answers(seat)
        out = frozenset({spot.member})
        free = reference.free(segment.segment)
        assert set(spot.direct) == {m for m in free if reference.may(m, seat, out)}


@many
@given(lineups(side_rules=False))
def test_who_supports_several_spots_and_which_pairs_fail(lineup: Any) -> None:
    problem, placements, known = lineup
    reference = Reference(problem, placements, known)
    for segment in coverage(problem, placements, known=known):
        expected: dict[str, set[str]] = {}
        for spot in segment.spots:
            if spot.member and spot.answer is not Answer.NONE:
                for member in reference.hangs_on((segment.segment, spot.spot)):
                    expected.setdefault(member, set()).add(spot.spot)
        assert {s.member: set(s.spots) for s in segment.supports} == expected
        counts = [len(s.spots) for s in segment.supports]
        assert counts == sorted(counts, reverse=True)
        pairs = failing_pairs(segment)
        assert pairs.exact
        assert set(pairs.pairs) == reference.failing_pairs(segment.segment)
        bare = {s.member for s in segment.spots if s.state is State.BARE}
        assert set(pairs.hopeless) == bare


def after(
    problem: LineupProblem, placements: Iterable[Placement], segment: str, spot: SpotCoverage
) -> list[Placement]:
    """The placements once the spot's member has dropped out and the moves are made."""
    seats = {(p.segment, p.spot): p.member for p in placements}
    for (g, s), member in list(seats.items()):
        leaves = {spot.member} | {m.member for m in spot.moves if g == segment}
        if member in leaves and (g == segment or member == spot.member):
            seats[g, s] = None
    for move in spot.moves:
        assert seats[segment, move.to_spot] is None
        seats[segment, move.to_spot] = move.member
    pinned = {(p.segment, p.spot): p.member for p in problem.pins}
    holds = {m.key: m.holds for m in problem.members}

    def origin(seat: tuple[str, str], member: str | None) -> Origin:
        if member is None:
            return Origin.LEFT_OPEN if seat in problem.left_open else Origin.HOLE
        if pinned.get(seat) == member:
            return Origin.PINNED
        return Origin.HOLDS if holds[member] == seat[1] else Origin.STANDS_IN

    return [Placement(*seat, member, origin(seat, member)) for seat, member in seats.items()]


@many
@given(lineups(side_rules=True))
def test_stock_and_travel_never_leave_an_answer_that_does_not_hold(lineup: Any) -> None:
    problem, placements, known = lineup
    reference = Reference(problem, placements, known)
    found = rows(coverage(problem, placements, known=known))
    for segment, spot in found:
        if spot.member is None:
            continue
        seat = (segment.segment, spot.spot)
        if problem.travel_limit is None and not problem.wears:
            moves = reference.fewest_moves(seat)
            assert (spot.state is State.BARE) == (moves is None)
            assert (spot.answer is Answer.DIRECT) == (moves == 1)
        if spot.answer is Answer.NONE:
            assert (spot.rule is not None) == reference.answered_without(seat, [])
            continue
        now = after(problem, placements, segment.segment, spot)
        rest = [v.rule for v in violations(replace(problem, max_moved=None), now)]
        joint = {Rule.TRAVEL, Rule.DRESS} if len(problem.segments) > 1 else set()
        assert set(rest) <= {Rule.PIN} | joint
        assert next(p.member for p in now if (p.segment, p.spot) == seat)
        standing = sum(p.member is not None for p in now if p.segment == segment.segment)
        assert standing == len(reference.filled(segment.segment))
    if problem.travel_limit is None and not problem.wears:
        return
    for member in {spot.member for _, spot in found if spot.member}:
        bare = sum(spot.state is State.BARE for _, spot in found if spot.member == member)
        assert bare == reference.holes_without(member)


@many
@given(lineups(side_rules=True))
def test_an_exact_state_holds_under_the_side_rules_too(lineup: Any) -> None:
    problem, placements, known = lineup
    if problem.travel_limit is not None:
        return
    reference = Reference(problem, placements, known)
    for segment, spot in rows(coverage(problem, placements, known=known)):
        if spot.state not in (State.SAFE, State.THIN) or not spot.exact:
            continue
        seat = (segment.segment, spot.spot)
        for other in sorted(set(reference.members) - {spot.member}):
            out = frozenset({spot.member or "", other})
            seats = [
                s for s in reference.filled(seat[0]) if s == seat or reference.stands[s] not in out
            ]
            held = reference.can_fill({seat[0]: seats}, out)
            assert held == (other not in spot.hangs_on)


@some
@given(lineups(side_rules=False, learning=True))
def test_the_lessons_are_as_few_as_any_and_answer_all_that_lessons_can(lineup: Any) -> None:
    problem, placements, known = lineup
    reference = Reference(problem, placements, known)
    assume(len(reference.lessons()) <= 14)
    found = lessons(problem, placements, known=known)
    count, hopeless = reference.fewest_lessons()
    assert len(found.lessons) == count
    assert found.proven
    assert set(found.hopeless) == hopeless
    taken = {(lesson.member, lesson.spot) for lesson in found.lessons}
    assert taken <= set(reference.lessons())
    assert reference.unanswered(taken) == hopeless
    alone = {pair for pair in reference.lessons() if reference.unanswered([pair]) == hopeless}
    assert {(x.member, x.spot) for x in found.alone} == (alone if count == 1 else set())


@some
@given(lineups(side_rules=True, learning=True))
def test_under_side_rules_proven_lessons_leave_only_what_is_named(lineup: Any) -> None:
    problem, placements, known = lineup
    found = lessons(problem, placements, known=known)
    learnt = known | {(x.member, x.spot) for x in found.lessons}
    after_them = coverage(problem, placements, known=learnt)
    bare = {(g.segment, s.spot) for g, s in rows(after_them) if s.state is State.BARE}
    assert set(found.hopeless) == bare
    if found.proven:
        assert bare == Reference(problem, placements, known).fewest_lessons()[1]


@some
@given(lineups(side_rules=True, learning=True), st.randoms(use_true_random=False))
def test_the_order_of_rows_changes_nothing(lineup: Any, rng: Any) -> None:
    problem, placements, known = lineup

    def shuffled(rows_: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(rng.sample(rows_, len(rows_)))

    other = replace(
        problem,
        members=tuple(replace(m, skills=shuffled(m.skills)) for m in shuffled(problem.members)),
        spots=shuffled(problem.spots),
        segments=tuple(replace(g, spots=shuffled(g.spots)) for g in shuffled(problem.segments)),
        parts=shuffled(problem.parts),
        pins=shuffled(problem.pins),
        blocks=shuffled(problem.blocks),
        backups=shuffled(problem.backups),
        stock=shuffled(problem.stock),
    )
    again = shuffled(placements)
    assert coverage(other, again, known=known) == coverage(problem, placements, known=known)
    assert lessons(other, again, known=known) == lessons(problem, placements, known=known)
