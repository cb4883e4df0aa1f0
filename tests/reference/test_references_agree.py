"""The three reference answers agree with one another before anything is judged by them."""

from __future__ import annotations

from hypothesis import HealthCheck, given

from drill.lineup.core.problem import LineupProblem
from tests.examples import examples
from tests.reference import evaluate
from tests.reference.brute_force import brute_force
from tests.reference.cpsat import solve_cpsat
from tests.reference.mip import solve_mip
from tests.reference.tiny import tiny_problems

SLOW = [HealthCheck.too_slow, HealthCheck.data_too_large]


@examples(75, long=1500, suppress_health_check=SLOW)
@given(tiny_problems())
def test_three_solvers_reach_the_same_eight_values(problem: LineupProblem) -> None:
    best = brute_force(problem)
    mip, cpsat = solve_mip(problem), solve_cpsat(problem)
    if best is None:
        assert (mip.status, cpsat.status) == ("infeasible", "infeasible")
        return
    assert mip.values == best.values
    assert cpsat.values == best.values
    for placements in (best.placements, mip.placements, cpsat.placements):
        assert placements is not None
        assert evaluate.broken_rules(problem, placements) == []
        assert evaluate.values(problem, placements) == best.values
