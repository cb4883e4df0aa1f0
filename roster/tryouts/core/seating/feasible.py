"""Whether the hard rules of a seating can hold at once, how many must move for them, and how many
leaders must lack: CP-SAT."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping

from ortools.sat.python import cp_model

from roster.tryouts.core.seating.problem import LEADERS, Problem

EFFORT = 20.0
"""the solver's own deterministic time"""


def rule_abiding(problem: Problem, near: Mapping[int, int]) -> dict[int, int] | None:
    """Seats for as many as the parts have spots for, that keep people apart and hold the locks, of
    which as few as possible move and ranks lack as few leaders as possible; None where the rules
    contradict each other. ``near`` is where the search begins."""
    model = cp_model.CpModel()
    at: dict[tuple[int, int], cp_model.IntVar] = {
        (person.key, place.key): model.new_bool_var(f"{person.key} at {place.key}")
        for person in problem.people
        for place in problem.places
        if person.part == place.part
    }
    of_person: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    of_place: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    of_part: dict[int, list[cp_model.IntVar]] = defaultdict(list)
    for (key, spot), var in at.items():
        of_person[key].append(var)
        of_place[spot].append(var)
        of_part[problem.place[spot].part].append(var)
    for variables in (*of_person.values(), *of_place.values()):
        model.add_at_most_one(variables)
    room = Counter(place.part for place in problem.places)
    asking = Counter(person.part for person in problem.people)
    for part, variables in of_part.items():
        model.add(cp_model.LinearExpr.sum(variables) == min(room[part], asking[part]))
    for key, spot in problem.locks.items():
        if (key, spot) not in at:
            return None
        model.add(at[key, spot] == 1)
    for pair in problem.apart:
        for rank in {p.rank for p in problem.places}:
            inside = [
                var
                for (k, s), var in at.items()
                if k in (pair.first, pair.second) and problem.place[s].rank == rank
            ]
            model.add_at_most_one(inside)
    stays = cp_model.LinearExpr.sum([at[it] for it in problem.before.items() if it in at])
    most_lacking = LEADERS * len({p.rank for p in problem.places})
    model.minimize(_lacking(model, problem, at) - (most_lacking + 1) * stays)
    for (key, spot), var in at.items():
        model.add_hint(var, near.get(key) == spot)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.linearization_level = 2
    solver.parameters.max_deterministic_time = EFFORT
    solver.parameters.random_seed = 1
    if solver.solve(model) not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return None
    return {key: spot for (key, spot), var in at.items() if solver.boolean_value(var)}


def _lacking(
    model: cp_model.CpModel, problem: Problem, at: Mapping[tuple[int, int], cp_model.IntVar]
) -> cp_model.LinearExpr:
    """Leaders that ranks lack."""
    lacks = []
    for rank in sorted({p.rank for p in problem.places}):
        inside = [
            var
            for (key, spot), var in at.items()
            if problem.person[key].may_lead and problem.place[spot].rank == rank
        ]
        lack = model.new_int_var(0, LEADERS, f"lack {rank}")
        model.add(lack >= LEADERS - cp_model.LinearExpr.sum(inside))
        lacks.append(lack)
    return cp_model.LinearExpr.sum(lacks)
