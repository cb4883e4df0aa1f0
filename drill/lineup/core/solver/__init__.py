"""The lineup solver: matching, then the linear program, then branching, then the constraint solver.

``solve`` is deterministic: equal problems give equal lineups, in whatever order their rows come.
"""

from __future__ import annotations

from drill.lineup.core.canonical import canonical
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
from drill.lineup.core.solver.splitting import split_spots, splits

__all__ = [
    "ContradictoryPins",
    "Limits",
    "Lineup",
    "NoLineup",
    "OutOfWork",
    "Stage",
    "solve",
    "solve_model",
]


def solve(problem: LineupProblem, *, limits: Limits = Limits()) -> Lineup:
    """The best lineup of the problem.

    Raises ContradictoryPins when the pins cannot be kept, NoLineup when no lineup, not even an
    empty one, meets the rules, OutOfWork when none was found within ``limits``, which bound
    nothing else.
    """
    faults = pin_faults(problem) if problem.pins else ()
    if faults:
        raise ContradictoryPins(faults)
    return solve_model(build_model(canonical(problem)), limits)


def solve_model(model: Model, limits: Limits = Limits()) -> Lineup:
    """The best lineup of a model; NoLineup and OutOfWork as above."""
    matched = solve_matching(model)
    if matched is not None and not splits(model, matched[0].arcs):
        return _proven(model, matched[0].arcs, Stage.MATCHING, matched[1])
    from drill.lineup.core.solver.linear import solve_linear, solve_split

    answer, best = solve_linear(model, limits.nodes) if matched is None else (None, None)
    if matched is not None or (answer is not None and splits(model, answer.arcs)):
        answer, best = solve_split(model, limits.nodes)
    if answer is not None:
        stage = Stage.BRANCHING if answer.branched else Stage.LINEAR
        return _proven(model, answer.arcs, stage, answer.certificate)
    from drill.lineup.core.solver.constraint import solve_constraint

    arcs, results = solve_constraint(model, limits, best)
    values = _values(model, arcs)
    levels = tuple(_shifted(r, values) for r in results)
    return Lineup(read_placements(model, arcs), levels, Stage.CONSTRAINT)


def _shifted(result: LevelResult, values: dict[Level, int]) -> LevelResult:
    """The result in the level's own figures; the model leaves a constant of MOVED out."""
    shift = values[result.level] - result.value
    bound = None if result.bound is None else result.bound + shift
    return LevelResult(result.level, values[result.level], bound, result.proven)


def _proven(model: Model, arcs: Ints, stage: Stage, certificate: Certificate) -> Lineup:
    values = _values(model, arcs)
    levels = tuple(LevelResult(lv, values[lv], values[lv], True) for lv in Level)
    return Lineup(read_placements(model, arcs), levels, stage, certificate)


def _values(model: Model, arcs: Ints) -> dict[Level, int]:
    point = model.point(arcs)
    values = {level: model.value(level, point) for level in Level}
    return values | {Level.SPLIT: split_spots(model.arcs, arcs)}


def read_placements(model: Model, arcs: Ints) -> tuple[Placement, ...]:
    """Every seat of the problem with its member, in the order of segment and spot keys."""
    problem, of = model.problem, model.arcs
    members = problem.members
    standing = {
        of.seats[seat]: members[member]
        for seat, member in zip(of.seat[arcs].tolist(), of.member[arcs].tolist(), strict=True)
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
