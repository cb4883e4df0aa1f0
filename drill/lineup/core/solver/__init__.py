"""The lineup solver: matching, then the linear program, then the constraint solver.

``solve`` is deterministic: equal problems give equal lineups, in whatever order their rows come.
"""

from __future__ import annotations

import numpy as np

from drill.lineup.core.canonical import canonical
from drill.lineup.core.level_values import level_values
from drill.lineup.core.problem import Level, LineupProblem, Origin, Placement
from drill.lineup.core.solver.faults import pin_faults
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.matching import solve_matching
from drill.lineup.core.solver.model import Model, build_model
from drill.lineup.core.solver.result import (
    Certificate,
    ContradictoryPins,
    LevelResult,
    Limits,
    Lineup,
    NoLineup,
    OutOfWork,
    Stage,
)
from drill.lineup.core.solver.splitting import splits

__all__ = ["ContradictoryPins", "Limits", "Lineup", "NoLineup", "OutOfWork", "Stage", "solve"]


def solve(problem: LineupProblem, *, limits: Limits = Limits()) -> Lineup:
    """The best lineup of the problem.

    Raises ContradictoryPins when the pins cannot be kept, NoLineup when no lineup, not even an
    empty one, meets the rules, OutOfWork when the constraint solver found none within
    ``limits``, which bound nothing else.
    """
    faults = pin_faults(problem)
    if faults:
        raise ContradictoryPins(faults)
    ordered = canonical(problem)
    model = build_model(ordered)
    matched = solve_matching(model)
    if matched is not None and not splits(model, matched[0]):
        x, certificate = matched
        return _proven(model, ordered, x, Stage.MATCHING, certificate)
    from drill.lineup.core.solver.linear import solve_linear, solve_split

    answer = solve_linear(model) if matched is None else None
    if matched is not None or (answer is not None and splits(model, answer.x)):
        answer = solve_split(model)
    if answer is not None:
        return _proven(model, ordered, answer.x, Stage.LINEAR, answer.certificate)
    from drill.lineup.core.solver.constraint import solve_constraint

    x, results = solve_constraint(model, limits)
    placements = read_placements(model, x)
    values = level_values(ordered, placements)
    return Lineup(placements, tuple(_shifted(r, values) for r in results), Stage.CONSTRAINT)


def _shifted(result: LevelResult, values: dict[Level, int]) -> LevelResult:
    """The result in the level's own figures; the model leaves a constant of MOVED out."""
    shift = values[result.level] - result.value
    bound = None if result.bound is None else result.bound + shift
    return LevelResult(result.level, values[result.level], bound, result.proven)


def _proven(
    model: Model, problem: LineupProblem, x: Ints, stage: Stage, certificate: Certificate
) -> Lineup:
    placements = read_placements(model, x)
    values = level_values(problem, placements)
    levels = tuple(LevelResult(lv, values[lv], values[lv], True) for lv in Level)
    return Lineup(placements, levels, stage, certificate)


def read_placements(model: Model, x: Ints) -> tuple[Placement, ...]:
    """Every seat of the problem with its member, in the order of segment and spot keys."""
    arcs, problem = model.arcs, model.arcs.index.problem
    standing = {
        arcs.seats[arcs.seat[a]]: problem.members[arcs.member[a]]
        for a in np.flatnonzero(x[: arcs.size])
    }
    pinned = {(pin.segment, pin.spot) for pin in problem.pins}
    out = []
    for segment in problem.segments:
        for spot in segment.spots:
            seat = (segment.key, spot)
            member = standing.get(seat)
            if member is not None:
                held = Origin.HOLDS if member.holds == spot else Origin.STANDS_IN
                origin = Origin.PINNED if seat in pinned else held
            else:
                origin = Origin.LEFT_OPEN if seat in problem.left_open else Origin.HOLE
            out.append(Placement(*seat, member.key if member else None, origin))
    return tuple(out)
