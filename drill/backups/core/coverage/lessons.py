"""The fewest lessons that leave no single absence without an answer.

In one segment a lesson on a spot answers for it, and for every spot that its member could move
to in turn. So the spots without an answer fall into groups that answer for each other, and only
the groups that no other group with a possible lesson feeds need one of their own: one lesson each
is enough and necessary. Segments share lessons, which makes a small set cover.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from ortools.sat.python import cp_model
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import connected_components

from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.backups.core.coverage.result import Lesson

Group = tuple[int, int]
"""(segment, number) of spots that answer for each other"""

WORK = 10.0


@dataclass(frozen=True)
class Need:
    """Groups that need a lesson of their own with the lessons that would do, nearest first, and
    the seats for which nobody free is qualified."""

    groups: dict[Group, tuple[Lesson, ...]]
    nearness: dict[Lesson, int]
    hopeless: tuple[int, ...]


def need_of(ground: Ground) -> Need:
    """What single absences need, side rules apart."""
    groups: dict[Group, tuple[Lesson, ...]] = {}
    nearness: dict[Lesson, int] = {}
    hopeless: list[int] = []
    for segment in range(len(ground.problem.segments)):
        bare = _bare(ground, segment)
        offered = _offered(ground, set(bare), nearness)
        labels, feeds = _groups(ground, bare)
        able = {labels[seat] for seat in offered}
        served = _served(able, feeds)
        for seat in bare:
            if labels[seat] not in able | served:
                hopeless.append(seat)
        for label in sorted(able - served):
            wanted = {x for seat, found in offered.items() if labels[seat] == label for x in found}
            order = sorted(wanted, key=lambda x: (nearness[x], x))
            groups[segment, label] = tuple(order)
    return Need(groups, nearness, tuple(hopeless))


def _bare(ground: Ground, segment: int) -> list[int]:
    """Filled seats of the segment that nobody answers for."""
    seats = ground.seats_of(segment)
    bare = (ground.occupant[seats] != NOBODY) & ~ground.answered(segment)
    found: list[int] = seats[bare].tolist()
    return found


def _offered(
    ground: Ground, bare: set[int], nearness: dict[Lesson, int]
) -> dict[int, list[Lesson]]:
    """Seat -> lessons for alternates who stand in no segment and may march the seat."""
    standing = set(ground.occupant.tolist())
    found: dict[int, list[Lesson]] = {}
    member, seat, rung = (row.tolist() for row in ground.unknown)
    for who, where, near in zip(member, seat, rung, strict=True):
        if where in bare and who not in standing and ground.problem.members[who].holds is None:
            lesson = Lesson(ground.name(who), ground.spots[where])
            nearness[lesson] = near
            found.setdefault(where, []).append(lesson)
    return found


def _groups(ground: Ground, bare: list[int]) -> tuple[dict[int, int], set[tuple[int, int]]]:
    """Seat -> its group, and which group could answer for which other."""
    if not bare:
        return {}, set()
    position = {seat: n for n, seat in enumerate(bare)}
    home = {int(ground.occupant[seat]): seat for seat in bare}
    edges = [
        (position[home[who]], position[seat])
        for seat in bare
        for who in ground.member[ground.start[seat] : ground.start[seat + 1]].tolist()
        if who in home
    ]
    rows, columns = np.array(edges).T
    graph = csr_matrix((np.ones(len(edges)), (rows, columns)), (len(bare), len(bare)))
    labels = connected_components(graph, directed=True, connection="strong")[1].tolist()
    feeds = {(labels[a], labels[b]) for a, b in edges if labels[a] != labels[b]}
    return dict(zip(bare, labels, strict=True)), feeds


def _served(able: set[int], feeds: set[tuple[int, int]]) -> set[int]:
    """Groups that a lesson in some other group answers for."""
    served: set[int] = set()
    queue = list(able)
    while queue:
        here = queue.pop()
        for a, b in feeds:
            if a == here and b not in served:
                served.add(b)
                queue.append(b)
    return served


def fewest(need: Need) -> tuple[tuple[Lesson, ...], bool]:
    """The fewest lessons that reach every group, and whether that is proven."""
    hits: dict[frozenset[Group], list[Lesson]] = {}
    by_lesson: dict[Lesson, set[Group]] = {}
    for group, able in need.groups.items():
        for lesson in able:
            by_lesson.setdefault(lesson, set()).add(group)
    for lesson, found in sorted(by_lesson.items()):
        hits.setdefault(frozenset(found), []).append(lesson)
    sets, proven = _cover(sorted(hits, key=sorted), set(need.groups))
    return _dealt([hits[s] for s in sets], need), proven


def _cover(sets: list[frozenset[Group]], groups: set[Group]) -> tuple[list[frozenset[Group]], bool]:
    """The fewest sets that cover the groups: greedily where that meets the plain bound (each set
    has at most one group of a segment), else by search."""
    left, chosen = set(groups), []
    while left:
        best = max(sets, key=lambda s: len(s & left))
        chosen.append(best)
        left -= best
    bound = max(Counter(segment for segment, _ in groups).values(), default=0)
    if len(chosen) == bound:
        return chosen, True
    program = cp_model.CpModel()
    take = [program.new_bool_var("") for _ in sets]
    for group in sorted(groups):
        program.add_bool_or([t for t, s in zip(take, sets, strict=True) if group in s])
    program.minimize(cp_model.LinearExpr.sum(take))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = 0
    solver.parameters.max_deterministic_time = WORK
    status = solver.solve(program)
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        found = [s for t, s in zip(take, sets, strict=True) if solver.value(t)]
        if len(found) <= len(chosen):
            chosen = found
    return chosen, bool(status == cp_model.OPTIMAL)


def _dealt(choices: Iterable[list[Lesson]], need: Need) -> tuple[Lesson, ...]:
    """One lesson of each list, to whoever has fewest so far, then to the nearest."""
    busy: Counter[str] = Counter()
    dealt = []
    for able in choices:
        lesson = min(able, key=lambda x: (busy[x.member], need.nearness[x], x))
        busy[lesson.member] += 1
        dealt.append(lesson)
    return tuple(sorted(dealt))


def sufficient(need: Need) -> tuple[Lesson, ...]:
    """Every lesson that reaches all groups by itself, nearest first."""
    rows = list(need.groups.values())
    return tuple(x for x in rows[0] if all(x in row for row in rows)) if rows else ()
