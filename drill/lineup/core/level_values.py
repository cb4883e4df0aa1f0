"""The value of a lineup on each level, recomputed without the solver."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Iterable

from drill.lineup.core.problem import (
    MAX_BACKUP_ORDER,
    MAX_MARCHED_PERCENT,
    MAX_RELEARNING,
    MAX_STANDING,
    Level,
    LineupProblem,
    Member,
    Placement,
    Pool,
    Spot,
)
from drill.lineup.core.rules import Facts

BACKUP_CLASS_SIZE = 128
OWN_POOL_CLASS = MAX_BACKUP_ORDER + 1
OTHER_CLASS = MAX_BACKUP_ORDER + 2
MOVED_WITHIN, MOVED_ACROSS, MOVED_OFF = 2, 3, 2


def level_values(problem: LineupProblem, placements: Iterable[Placement]) -> dict[Level, int]:
    """Each level's value, computed from the rules alone."""
    rows = tuple(placements)
    facts = Facts(problem)
    stood = [
        (row, facts.members[row.member], facts.spots[row.spot])
        for row in rows
        if row.member is not None
    ]
    stand_ins = [(m, s) for _, m, s in stood if m.holds != s.key]
    learners = {m.key for m, _ in stand_ins}
    relearning = {(m, s): cost for m, s, cost in problem.relearning if m in learners}
    return {
        Level.HOLES: _holes(facts, rows),
        Level.LEADERLESS: _leaderless(facts, rows),
        Level.MOVED: sum(moved_cost(facts, rows).values()),
        Level.SPLIT: extra_stand_ins(stand_ins),
        Level.STANDING: sum(standing_cost(facts, m, s) for m, s in stand_ins),
        Level.RELEARNING: sum(
            min(relearning.get((m.key, s.key), 0), MAX_RELEARNING) for m, s in stand_ins
        ),
        Level.FAIRNESS: sum(fairness_cost(problem, m) for m, _ in stand_ins),
        Level.TIE: sum(tie_cost(problem.settings.salt, m.key, s.key) for _, m, s in stood),
    }


def extra_stand_ins(stand_ins: Iterable[tuple[Member, Spot]]) -> int:
    """How many stand-ins spots have beyond their first, over all segments."""
    of: dict[str, set[str]] = defaultdict(set)
    for member, spot in stand_ins:
        of[spot.key].add(member.key)
    return sum(len(members) - 1 for members in of.values())


def standing_cost(facts: Facts, member: Member, spot: Spot) -> int:
    """Backups in their order, then the alternates of the spot's pool, then others."""
    order = facts.backup_order.get((spot.key, member.key))
    if order is not None:
        return min(order, MAX_BACKUP_ORDER) * BACKUP_CLASS_SIZE
    if not is_own_alternate(member, spot, facts.problem.settings.pool):
        return OTHER_CLASS * BACKUP_CLASS_SIZE
    fair = facts.problem.settings.fairness_before_standing
    return OWN_POOL_CLASS * BACKUP_CLASS_SIZE + (
        _marched_percent(member) if fair else _standing(member)
    )


def is_own_alternate(member: Member, spot: Spot, pool: Pool) -> bool:
    """True when the member is an alternate of the spot's part in the spot's pool."""
    return (
        member.standing is not None
        and member.standing_part == spot.part
        and (pool is not Pool.RANK or member.rank == spot.rank)
    )


def fairness_cost(problem: LineupProblem, member: Member) -> int:
    """Chances marched in percent, or the standing where the band lets fairness go first."""
    if problem.settings.fairness_before_standing:
        return _standing(member)
    return _marched_percent(member)


def tie_cost(salt: int, member: str, spot: str) -> int:
    """A stable 20-bit number of the pair, so that the answer is unique."""
    digest = hashlib.sha256(f"{salt}|{member}|{spot}".encode()).digest()
    return int.from_bytes(digest[:3], "big") >> 4


def _standing(member: Member) -> int:
    return MAX_STANDING if member.standing is None else min(member.standing, MAX_STANDING)


def _marched_percent(member: Member) -> int:
    return min(max(member.marched_percent, 0), MAX_MARCHED_PERCENT)


def _holes(facts: Facts, rows: tuple[Placement, ...]) -> int:
    weighted = facts.problem.settings.use_weights
    return sum(
        facts.spots[row.spot].weight if weighted else 1
        for row in rows
        if row.member is None and (row.segment, row.spot) not in facts.problem.left_open
    )


def _leaderless(facts: Facts, rows: tuple[Placement, ...]) -> int:
    on_field: set[tuple[str, str, str | None]] = {
        (row.segment, facts.spots[row.spot].rank, row.member) for row in rows
    }
    marching = {
        (row.segment, facts.spots[row.spot].rank)
        for row in rows
        if (row.segment, row.spot) not in facts.problem.left_open
    }
    leaders = {rank.key: rank.leaders for rank in facts.problem.ranks if rank.leaders}
    return sum(
        1
        for segment, rank in marching
        if rank in leaders
        and not any((segment, rank, leader) in on_field for leader in leaders[rank])
    )


def moved_cost(facts: Facts, rows: tuple[Placement, ...]) -> dict[tuple[str, str], int]:
    """(member, segment) -> cost of leaving the reference seat, for all who could have stayed."""
    stands = {(row.member, row.segment): row.spot for row in rows if row.member}
    costs = {}
    for (segment, spot), key in facts.problem.reference:
        member = facts.members.get(key)
        if (
            member is None
            or segment in member.away
            or (segment, spot) in facts.problem.left_open
            or (segment, spot) not in facts.seats
        ):
            continue
        now = stands.get((key, segment))
        if now is None:
            costs[key, segment] = MOVED_OFF
        elif now == spot:
            costs[key, segment] = 0
        else:
            same = facts.spots[now].rank == facts.spots[spot].rank
            costs[key, segment] = MOVED_WITHIN if same else MOVED_ACROSS
    return costs
