"""Coverage and the backup plan against doing the same by solving or matching again.

Peers and we start from the same arrays of arcs; answers must agree, or the benchmark stops.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import breadth_first_order, maximum_bipartite_matching

from drill.backups.core.backup_plan import Plan, backup_plan
from drill.backups.core.coverage import SegmentCoverage, State, coverage, failing_pairs
from drill.backups.core.coverage.classes import SeatClasses
from drill.backups.core.coverage.ground import Ground, ground_of
from drill.lineup.core.problem import Level, LineupProblem, Placement
from drill.lineup.core.solver import solve
from drill.lineup.core.solver.index import Bools
from tests.bench.lineups import DisagreementError
from tests.bench.ratios import Ratio, middle, timed
from tests.reference.bands import band

SEEDS = (1, 2, 3, 4, 5)
OFTEN = 9


@dataclass
class Covered:
    """A band of 300 without side rules and its lineup."""

    seed: int

    @cached_property
    def problem(self) -> LineupProblem:
        return band(300, seed=self.seed, side_rules=False)

    @cached_property
    def placements(self) -> tuple[Placement, ...]:
        return solve(self.problem).placements

    @cached_property
    def ground(self) -> Ground:
        return ground_of(self.problem, self.placements)

    @cached_property
    def found(self) -> SegmentCoverage:
        return coverage(self.problem, self.placements)[0]

    @cached_property
    def filled(self) -> list[int]:
        return np.flatnonzero(self.ground.occupant >= 0).tolist()

    @cached_property
    def wanted(self) -> Bools:
        """The arcs of filled seats."""
        return self.ground.occupant[self.ground.seat] >= 0

    def matched(self, seat: int) -> tuple[csr_matrix, NDArray[np.signedinteger]]:
        """The matrix of filled seats without the seat's member, and its members by seat."""
        ground = self.ground
        keep = self.wanted & (ground.member != ground.occupant[seat])
        member = ground.member[keep]
        start = np.concatenate([[0], np.cumsum(keep)])[ground.start]
        shape = (len(ground.occupant), ground.people)
        matrix = csr_matrix((np.ones(len(member), np.int8), member, start), shape)
        return matrix, maximum_bipartite_matching(matrix, perm_type="column")

    def away(self, member: str) -> LineupProblem:
        gone = frozenset(g.key for g in self.problem.segments)
        members = tuple(
            replace(m, away=gone) if m.key == member else m for m in self.problem.members
        )
        return replace(self.problem, members=members)


def _ratio(name: str, peer: str, goal: float, pairs: list[tuple[float, float]]) -> Ratio:
    """From (our seconds, theirs) seed by seed."""
    values = [theirs / ours for ours, theirs in pairs]
    ours, theirs = (middle(column) for column in zip(*pairs, strict=True))
    return Ratio(name, peer, values, goal, True, ours, theirs)


def single_absences(cases: list[Covered]) -> Ratio:
    """The whole coverage of a lineup against solving it again without each member in turn."""
    pairs = []
    for case in cases:
        ours, (found,) = timed(partial(coverage, case.problem, case.placements), OFTEN)
        holes = solve(case.problem).value(Level.HOLES)
        members = [row.member for row in found.spots if row.member]

        def peer(c: Covered = case, keys: list[str] = members) -> list[int]:
            return [solve(c.away(key)).value(Level.HOLES) for key in keys]

        theirs, again = timed(peer)
        bare = [row.state is State.BARE for row in found.spots if row.member]
        if bare != [value > holes for value in again]:
            raise DisagreementError("single absences differ from solving again")
        pairs.append((ours, theirs))
    return _ratio("all single absences, 300: / ours", "solving again, each", 800, pairs)


def one_more(cases: list[Covered]) -> Ratio:
    """Which single absences leave a hole: one search against a matching for each."""
    pairs = []
    for case in cases:
        ours, answered = timed(partial(case.ground.answered, 0), OFTEN)

        def peer(c: Covered = case) -> list[bool]:
            return [bool((c.matched(seat)[1][c.filled] >= 0).all()) for seat in c.filled]

        theirs, again = timed(peer, 3)
        if answered[case.filled].tolist() != again:
            raise DisagreementError("single absences differ from matching again")
        pairs.append((ours, theirs))
    return _ratio("N-1, 300 spots: / ours", "SciPy matching again, each", 622, pairs)


def _fails_with(case: Covered, first: int) -> set[tuple[int, int]]:
    """Pairs of members who fail with the first seat's: matched again without that one, then the
    seats that no alternating path from a free member reaches, by who stands there now."""
    matrix, matched = case.matched(first)
    seats, people = matrix.shape
    if (matched[case.filled] < 0).any():
        return set()
    seat_of = np.full(people, -1)
    seat_of[matched[case.filled]] = case.filled
    rows = np.repeat(np.arange(seats), np.diff(matrix.indptr))
    source = np.where(seat_of[matrix.indices] >= 0, seat_of[matrix.indices], seats)
    graph = csr_matrix((np.ones(len(rows)), (source, rows)), (seats + 1, seats + 1))
    reached = np.zeros(seats + 1, np.bool_)
    reached[breadth_first_order(graph, seats, return_predecessors=False)] = True
    out = int(case.ground.occupant[first])
    lost = matched[[seat for seat in case.filled if not reached[seat]]]
    return {(min(out, m), max(out, m)) for m in lost.tolist()}


def _groups(ground: Ground) -> dict[int, list[int]]:
    """Filled seats by the first member on whom their answers hang."""
    seats = ground.seats_of(0)
    classes = SeatClasses.of(ground, seats)
    first = {number: chain[0] if chain else None for number, chain in classes.hangs_on.items()}
    groups: dict[int, list[int]] = {}
    for seat, occupant in zip(seats.tolist(), ground.occupant[seats].tolist(), strict=True):
        number = classes.of_seat[seat]
        if occupant >= 0 and number in first:
            hangs_on = first[number]
            groups.setdefault(occupant if hangs_on is None else hangs_on, []).append(seat)
    return groups


def two_more(cases: list[Covered]) -> Ratio:
    """Which pairs of absences leave a hole: one tree against a matching and a search for each."""
    pairs = []
    for case in cases:
        ours, _ = timed(partial(_groups, case.ground), OFTEN)

        def peer(c: Covered = case) -> list[set[tuple[int, int]]]:
            return [_fails_with(c, seat) for seat in c.filled]

        theirs, again = timed(peer)
        failing = failing_pairs(case.found)
        name, standing = case.ground.name, set(case.ground.occupant.tolist())
        others = {
            (name(a), name(b))
            for a, b in set[tuple[int, int]]().union(*again)
            if {a, b} <= standing
        }
        if {p for p in others if not set(p) & set(failing.hopeless)} != set(failing.pairs):
            raise DisagreementError("pairs of absences differ from matching again")
        pairs.append((ours, theirs))
    return _ratio("N-2, 300 spots: / ours", "SciPy matching and search again, each", 330, pairs)


def event_plan(seed: int) -> Plan:
    """300 spots, 60 alternates who know nothing yet, three lessons each; a chance to be out of
    9% on average, very uneven (Beta 0.6, 6): common practice, no source."""
    problem = band(300, seed=seed, side_rules=False, alternates=(3,))
    present = tuple(replace(m, away=frozenset()) for m in problem.members)
    problem = replace(problem, blocks=(), members=present)
    rng = np.random.default_rng(seed)
    return backup_plan(
        problem,
        solve(problem).placements,
        known=frozenset((m.key, m.holds) for m in present if m.holds),
        learners=[m.key for m in present if m.holds is None],
        chances={m.key: float(rng.beta(0.6, 6.0)) for m in present},
    )


def _half_width(plan: Plan) -> float:
    """Of the ratio of two means on the same scenarios, from their half-widths and that of the
    difference."""
    ours, plain, saved = plan.holes, plan.plain, plan.saved
    ratio = ours.mean / plain.mean
    shared = (ours.half_width**2 + plain.half_width**2 - saved.half_width**2) / 2
    square = ours.half_width**2 + ratio**2 * plain.half_width**2 - 2 * ratio * shared
    return math.sqrt(max(square, 0.0)) / plain.mean


def plans() -> Ratio:
    """Holes to expect with the plan against lessons in plain order, on held-out scenarios."""
    timings = [timed(partial(event_plan, seed)) for seed in SEEDS]
    found = [plan for _, plan in timings]
    seconds = middle(seconds for seconds, _ in timings)
    bounds = [plan.sample_bound for plan in found if plan.sample_bound is not None]
    by_risk = middle(plan.by_risk.mean for plan in found)
    note = (
        f"+- {max(map(_half_width, found)):.2g}, by risk {by_risk:.3g}, "
        f"sample bound {middle(bounds):.3g}, {seconds:.2g} s"
    )
    return Ratio(
        "backup plan, 300: holes /",
        "holes with lessons in plain order",
        [p.holes.mean / p.plain.mean for p in found],
        0.43,
        False,
        middle(p.holes.mean for p in found),
        middle(p.plain.mean for p in found),
        unit="holes",
        note=note,
    )


def coverage_ratios() -> Iterator[Ratio]:
    """Every ratio of coverage and the backup plan, as soon as it is measured."""
    cases = [Covered(seed) for seed in SEEDS]
    for case in cases:
        _ = case.filled, case.wanted, case.found
    yield one_more(cases)
    yield two_more(cases)
    yield single_absences(cases)
    yield plans()
