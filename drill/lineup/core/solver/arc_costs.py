"""What each member costs on each seat, level by level."""

from __future__ import annotations

import numpy as np

from drill.lineup.core.level_values import (
    BACKUP_CLASS_SIZE,
    MOVED_ACROSS,
    MOVED_OFF,
    MOVED_WITHIN,
    OTHER_CLASS,
    OWN_POOL_CLASS,
)
from drill.lineup.core.problem import (
    MAX_BACKUP_ORDER,
    MAX_MARCHED_PERCENT,
    MAX_RELEARNING,
    MAX_STANDING,
    Level,
    Pool,
    Seat,
)
from drill.lineup.core.solver.index import Bools, Index, Ints


def moved_costs(
    index: Index, seats: tuple[Seat, ...], member: Ints, segment: Ints, spot: Ints
) -> tuple[Ints, Bools, Ints]:
    """Each arc's cost of moving somebody, which arcs stay, and how many could in each segment."""
    problem = index.problem
    home = np.full((len(problem.segments), max(len(problem.members), 1)), -1, np.int64)
    known = set(seats)
    for (g, s), key in problem.reference:
        i = index.member.get(key)
        if i is not None and (g, s) in known and g not in problem.members[i].away:
            home[index.segment[g], i] = index.spot[s]
    rank_of = np.array([index.rank[s.rank] for s in problem.spots], np.int64)
    at_home = home[segment, member]
    stays = at_home == spot
    same = rank_of[at_home] == rank_of[spot] if len(spot) else np.zeros(0, np.bool_)
    elsewhere = np.where(same, MOVED_WITHIN, MOVED_ACROSS) - MOVED_OFF
    costs = np.where(at_home < 0, 0, np.where(stays, -MOVED_OFF, elsewhere))
    return costs.astype(np.int64), stays, (home >= 0).sum(axis=1)


def standing_levels(index: Index, member: Ints, spot: Ints) -> dict[Level, Ints]:
    """Each arc's value on the levels of standing and fairness."""
    problem = index.problem
    people = problem.members
    standing = np.array(
        [MAX_STANDING if m.standing is None else min(m.standing, MAX_STANDING) for m in people],
        np.int64,
    )
    marched = np.array(
        [min(max(m.marched_percent, 0), MAX_MARCHED_PERCENT) for m in people], np.int64
    )
    fair = problem.settings.fairness_before_standing
    holds = np.array([index.spot.get(m.holds or "", -1) for m in people], np.int64)
    if not len(member):
        empty = np.zeros(0, np.int64)
        return {Level.STANDING: empty, Level.RELEARNING: empty, Level.FAIRNESS: empty}
    away_from_home = holds[member] != spot
    within = (marched if fair else standing)[member]
    own = _own_alternates(index, member, spot)
    rung = np.where(
        own, OWN_POOL_CLASS * BACKUP_CLASS_SIZE + within, OTHER_CLASS * BACKUP_CLASS_SIZE
    )
    width = len(problem.spots)
    pair = member * width + spot
    backups: dict[int, int] = {}
    for backup in problem.backups:
        if backup.member in index.member and backup.spot in index.spot:
            key = index.member[backup.member] * width + index.spot[backup.spot]
            backups[key] = min(backups.get(key, MAX_BACKUP_ORDER), backup.order)
    count = len(backups)
    steps = np.fromiter(backups.values(), np.int64, count) * BACKUP_CLASS_SIZE
    rung = _overlay(rung, pair, np.fromiter(backups, np.int64, count), steps)
    keys, lessons = _lessons(index, width)
    relearning = _overlay(np.zeros(len(member), np.int64), pair, keys, lessons)
    last = (standing if fair else marched)[member]
    return {
        Level.STANDING: np.where(away_from_home, rung, 0).astype(np.int64),
        Level.RELEARNING: np.where(away_from_home, relearning, 0).astype(np.int64),
        Level.FAIRNESS: np.where(away_from_home, last, 0).astype(np.int64),
    }


def _own_alternates(index: Index, member: Ints, spot: Ints) -> Bools:
    people, spots = index.problem.members, index.problem.spots
    part = np.array(
        [-1 if m.standing is None else index.part.get(m.standing_part or "", -1) for m in people],
        np.int64,
    )
    spot_part = np.array([index.part[s.part] for s in spots], np.int64)
    own: Bools = part[member] == spot_part[spot]
    if index.problem.settings.pool is not Pool.RANK:
        return own
    rank = np.array([index.rank.get(m.rank or "", -1) for m in people], np.int64)
    spot_rank = np.array([index.rank[s.rank] for s in spots], np.int64)
    here: Bools = own & (rank[member] == spot_rank[spot])
    return here


def _lessons(index: Index, width: int) -> tuple[Ints, Ints]:
    """(member, spot) as one number, and what it costs to learn; unknown pairs are below zero."""
    rows = index.problem.relearning
    member, spot = index.member, index.spot
    keys = np.fromiter(
        (member.get(m, -1) * width + spot.get(s, -width * width) for m, s, _ in rows),
        np.int64,
        len(rows),
    )
    costs = np.fromiter((cost for _, _, cost in rows), np.int64, len(rows))
    return keys, np.minimum(costs, MAX_RELEARNING)


def _overlay(base: Ints, pair: Ints, keys: Ints, values: Ints) -> Ints:
    """``base`` with the values of the pairs that are named; the last naming of a pair counts."""
    if not len(keys):
        return base
    order = np.argsort(keys, kind="stable")
    keys, values = keys[order], values[order]
    at = np.maximum(np.searchsorted(keys, pair, side="right") - 1, 0)
    return np.where(keys[at] == pair, values[at], base)
