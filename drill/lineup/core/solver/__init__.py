"""The lineup solver: matching, then the linear program, then branching, then the constraint solver.

``solve`` is deterministic: equal problems give equal lineups, in whatever order their rows come.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Level, LineupProblem, Origin, Placement
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.faults import pin_faults
from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.matching import solve_matching
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.result import (
    Certificate,
    ContradictoryPins,
    LevelResult,
    Limits,
    Lineup,
    NoLineup,
    OutOfWork,
    Stage,
    Tell,
    nobody,
)
from drill.lineup.core.solver.splitting import split_spots, splits

ORIGINS = (Origin.STANDS_IN, Origin.HOLDS, Origin.PINNED)

__all__ = [
    "ContradictoryPins",
    "Limits",
    "Lineup",
    "NoLineup",
    "OutOfWork",
    "Stage",
    "best_of",
    "solve",
    "solve_model",
]


def solve(problem: LineupProblem, *, limits: Limits = Limits(), tell: Tell = nobody) -> Lineup:
    """The best lineup of the problem; ``tell`` hears of every level when its turn comes.

    Raises ContradictoryPins when the pins cannot be kept, NoLineup when no lineup, not even an
    empty one, meets the rules, OutOfWork when none was found within ``limits``, which bound
    nothing else.
    """
    faults = pin_faults(problem) if problem.pins else ()
    if faults:
        raise ContradictoryPins(faults)
    return solve_model(build_model(canonical(problem)), limits, tell)


@dataclass(frozen=True)
class Answer:
    """The arcs of the best lineup and its proof, or what is proven of each level."""

    arcs: Ints
    stage: Stage
    certificate: Certificate | None = None
    results: tuple[LevelResult, ...] = ()


def solve_model(model: Model, limits: Limits = Limits(), tell: Tell = nobody) -> Lineup:
    """The best lineup of a model; NoLineup and OutOfWork as above."""
    answer = best_of(model, limits, tell)
    values = _values(model, answer.arcs)
    levels = tuple(LevelResult(lv, values[lv], values[lv], True) for lv in Level)
    if answer.results:
        levels = tuple(_shifted(result, values) for result in answer.results)
    placements = read_placements(model, answer.arcs)
    return Lineup(placements, levels, answer.stage, answer.certificate)


def best_of(model: Model, limits: Limits = Limits(), tell: Tell = nobody) -> Answer:
    """The same as numbers."""
    matched = None if model.has_side_rules else solve_matching(model)
    if matched is not None and not splits(model, matched[0].arcs):
        return Answer(matched[0].arcs, Stage.MATCHING, matched[1])
    from drill.lineup.core.solver.linear import solve_linear, solve_split

    answer, best = solve_linear(model, limits.nodes, tell) if matched is None else (None, None)
    if matched is not None or (answer is not None and splits(model, answer.arcs)):
        answer, best = solve_split(model, limits.nodes, tell)
    if answer is not None:
        stage = Stage.BRANCHING if answer.branched else Stage.LINEAR
        return Answer(answer.arcs, stage, answer.certificate)
    from drill.lineup.core.solver.constraint import solve_constraint

    arcs, results = solve_constraint(model, limits, best, tell)
    return Answer(arcs, Stage.CONSTRAINT, results=results)


def _shifted(result: LevelResult, values: dict[Level, int]) -> LevelResult:
    """The result in the level's own figures; the model leaves a constant of MOVED out."""
    shift = values[result.level] - result.value
    bound = None if result.bound is None else result.bound + shift
    return LevelResult(result.level, values[result.level], bound, result.proven)


def _values(model: Model, arcs: Ints) -> dict[Level, int]:
    point = model.point(arcs)
    values = {level: model.value(level, point) for level in Level}
    return values | {Level.SPLIT: split_spots(model.arcs, arcs)}


def read_placements(model: Model, arcs: Ints) -> tuple[Placement, ...]:
    """Every seat of the problem with its member, in the order of segment and spot keys."""
    problem, of = model.problem, model.arcs
    seat, member = of.seat[arcs], of.member[arcs]
    at_home = of.people.holds[member] == of.seat_spot[seat]
    origins = np.where(of.seat_pinned[seat], 2, np.where(at_home, 1, 0)).tolist()
    keys = of.people.keys
    stood = {
        of.seats[j]: (keys[i], ORIGINS[origin])
        for j, i, origin in zip(seat.tolist(), member.tolist(), origins, strict=True)
    }
    hole, left_open = (None, Origin.HOLE), (None, Origin.LEFT_OPEN)
    return tuple(
        Placement(*there, *stood.get(there, left_open if there in problem.left_open else hole))
        for segment in problem.segments
        for there in [(segment.key, spot) for spot in segment.spots]
    )
