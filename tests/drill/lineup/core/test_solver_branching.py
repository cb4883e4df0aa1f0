"""Bands whose linear program has no whole answer: branches find the best and prove it."""

from __future__ import annotations

import functools
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from drill.lineup.core.canonical import canonical
from drill.lineup.core.level_values import level_values
from drill.lineup.core.problem import Level, LineupProblem
from drill.lineup.core.solver import Limits, Lineup, Stage, solve
from drill.lineup.core.solver.branches import branches
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.certificate import certify
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.linear import begin
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.packing import Pack
from drill.lineup.core.solver.part import Costs
from drill.lineup.core.solver.result import Block, Branch, Certificate
from tests.reference.bands import band
from tests.reference.mip import solve_mip

LATER, HOLES, STOCK = (192, 3), (192, 26), (300, 20)
"""bands that branch in a later pack, at a fraction of a hole, and in the first pack"""
TWO = ("pregame", "halftime")


@functools.cache
def solved(spots: int, seed: int) -> tuple[LineupProblem, Lineup]:
    problem = band(spots, seed=seed)
    return problem, solve(problem)


@pytest.mark.parametrize("case", [LATER, HOLES, STOCK, (192, 28), (300, 5)])
def test_a_fractional_band_is_proven_without_a_solver(case: tuple[int, int]) -> None:
    problem, lineup = solved(*case)
    assert lineup.stage is Stage.BRANCHING
    assert lineup.proven and certify(problem, lineup)
    assert {r.level: r.value for r in lineup.levels} == level_values(problem, lineup.placements)


@pytest.mark.parametrize("case", [LATER, HOLES])
def test_an_integer_programme_finds_the_same_values(case: tuple[int, int]) -> None:
    """Reference: HiGHS branch and cut, level by level (``tests/reference/mip.py``)."""
    problem, lineup = solved(*case)
    assert solve_mip(problem).values == tuple(r.value for r in lineup.levels)


def test_without_nodes_the_constraint_solver_goes_on_from_the_best_lineup() -> None:
    problem, lineup = solved(*HOLES)
    other = solve(problem, limits=Limits(nodes=0))
    assert other.stage is Stage.CONSTRAINT and other.certificate is None
    assert [r.value for r in other.levels[:3]] == [r.value for r in lineup.levels[:3]]


def test_another_lineup_under_the_same_proof_is_refused() -> None:
    problem, lineup = solved(*LATER)
    one, other = (
        n for n, p in enumerate(lineup.placements) if p.spot in ("6-12", "6-4") and p.member
    )
    rows = list(lineup.placements)
    rows[one] = replace(rows[one], member=rows[other].member)
    rows[other] = replace(rows[other], member=lineup.placements[one].member)
    assert not certify(problem, replace(lineup, placements=tuple(rows)))


def tampered(proof: Certificate) -> Iterator[Certificate]:
    """The proof with one thing wrong, at the top and in the branches."""
    for n, block in enumerate(proof.blocks):
        before, after = proof.blocks[:n], proof.blocks[n + 1 :]

        def instead(*blocks: Block, b: object = before, a: object = after) -> Certificate:
            return replace(proof, blocks=(*b, *blocks, *a))  # type: ignore[misc]

        if block.settles:
            yield instead()
        if block.proof is not None:
            yield instead(replace(block, proof=None))
            for wrong in tampered(block.proof):
                yield instead(replace(block, proof=wrong))
        if block.prices:
            dearer = (block.prices[0] + 10**6 * block.scale, *block.prices[1:])
            yield instead(replace(block, prices=dearer))
            yield instead(replace(block, rows=(10**9,), prices=(1,)))
        if block.weights:
            yield instead(replace(block, weights=block.weights[:-1]))
    if proof.branch is not None:
        branch = proof.branch
        yield replace(proof, branch=None)
        yield replace(proof, branch=replace(branch, column=10**9))
        for wrong in (Certificate(()), *tampered(branch.zero)):
            yield replace(proof, branch=replace(branch, zero=wrong))
        for wrong in (Certificate(()), *tampered(branch.one)):
            yield replace(proof, branch=replace(branch, one=wrong))


@pytest.mark.parametrize("case", [LATER, HOLES, STOCK])
def test_no_part_of_a_proof_can_be_left_out_or_bent(case: tuple[int, int]) -> None:
    problem, lineup = solved(*case)
    assert lineup.certificate is not None
    wrong = list(tampered(lineup.certificate))
    assert len(wrong) > 5
    for proof in wrong:
        assert not certify(problem, replace(lineup, certificate=proof))


@pytest.fixture(scope="module")
def model() -> Model:
    return build_model(canonical(band(60, seed=1, segments=TWO)))


def columns_of(model: Model) -> Iterator[int]:
    """An arc, a hole, a rank and a traveller."""
    first = model.arcs.size
    yield 0
    yield first + int(model.hole[model.hole >= 0][0])
    yield first + int(model.leaderless[~model.leader_free][0])
    yield first + int(model.traveller[0])


def test_branches_take_the_column_out_or_make_it_one(model: Model) -> None:
    """What solves a branch has the column at 0, or at 1 as far as it is of any use."""
    face = Face.whole(model)
    pack = Pack((Level.HOLES, Level.LEADERLESS), (100, 1), 10_000)
    costs = Costs.of(model, pack, face)
    program = begin(model, None)
    for column in columns_of(model):
        for wanted, half in enumerate(branches(model, face, column)):
            found = program.minimise(costs.on(face, half), half, again=True)
            if column < model.arcs.size:
                share = found.shares[found.arcs == column].sum()
            else:
                share = found.others[column - model.arcs.size]
            assert abs(share - wanted) < 1e-6


def test_a_program_forgets_the_equations_of_another_branch(model: Model) -> None:
    """Somebody who travels in one branch need not in the next."""
    face = Face.whole(model)
    pack = Pack((Level.HOLES,), (1,), 1000)
    costs = Costs.of(model, pack, face)
    program = begin(model, None)
    free = program.minimise(costs, face)
    zero, one = branches(model, face, model.arcs.size + int(model.traveller[0]))
    for half in (one, zero, one):
        program.minimise(costs.on(face, half), half, again=True)
    again = program.minimise(costs, face, again=True)
    assert abs(free.value - again.value) < 1e-6
    assert not np.array_equal(one.tight, zero.tight)


def test_a_branch_says_which_column() -> None:
    """A proof is data: it survives being taken apart and put together."""
    proof = solved(*LATER)[1].certificate
    assert proof is not None and isinstance(proof.branch, Branch)
    assert proof.branch.column >= 0
