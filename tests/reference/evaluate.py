"""What a lineup is worth and which rules it breaks, read off the definitions word by word.

Knows no solver and shares only the problem's dataclasses with the product; slow on purpose, one
question at a time.
"""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Iterable

from drill.lineup.core.problem import (
    Lack,
    Level,
    LineupProblem,
    Member,
    Origin,
    Placement,
    Seat,
    Spot,
)

FILLED = Iterable[Placement]
Need = tuple[str, Lack]
"""a member and what they lack"""


def seats_of(problem: LineupProblem) -> list[Seat]:
    """Every seat of the event, left open or not."""
    return [(segment.key, spot) for segment in problem.segments for spot in segment.spots]


def may_march(problem: LineupProblem, member: Member, seat: Seat) -> bool:
    """Whether the member may march the seat: qualified, present, not blocked, experienced
    enough."""
    segment, spot_key = seat
    spot = {s.key: s for s in problem.spots}[spot_key]
    qualified = any(skill.part == spot.part for skill in member.skills)
    blocked = any(
        block.member == member.key
        and (block.segment is None or block.segment == segment)
        and (block.spot is None or block.spot == spot_key)
        for block in problem.blocks
    )
    seasoned = not spot.needs_experience or member.experienced or member.holds == spot_key
    present = segment not in member.away
    dressable = all(
        any(s.kind == lack.kind and s.size in lack.fits and s.count for s in problem.spares)
        for lack in lacking(problem, member, seat)
    )
    return (
        qualified
        and present
        and seasoned
        and dressable
        and not blocked
        and seat not in problem.left_open
    )


def lacking(problem: LineupProblem, member: Member, seat: Seat) -> list[Lack]:
    """What the member needs a spare piece for in the seat."""
    part = next(s.part for s in problem.spots if s.key == seat[1])
    worn = {w.kind for w in problem.wears if (w.segment, w.part) == (seat[0], part)}
    return [lack for lack in member.lacks if lack.kind in worn]


def needs_of(problem: LineupProblem, taken: Iterable[tuple[Seat, str]]) -> frozenset[Need]:
    """Who needs a spare piece of what, of those who take seats."""
    members = {member.key: member for member in problem.members}
    return frozenset(
        (key, lack) for seat, key in taken for lack in lacking(problem, members[key], seat)
    )


def dressed(problem: LineupProblem, needs: frozenset[Need]) -> bool:
    """Whether the spares can be dealt out so that nobody goes without, by trying all ways."""
    pieces = [(s.kind, s.size) for s in problem.spares for _ in range(s.count)]

    def deal(wanted: list[Need], left: list[tuple[str, str]]) -> bool:
        if not wanted:
            return True
        (_, lack), *rest = wanted
        fit = {(lack.kind, size) for size in lack.fits} & set(left)
        return any(deal(rest, _without(left, piece)) for piece in fit)

    return deal(sorted(needs), pieces)


def _without(pieces: list[tuple[str, str]], piece: tuple[str, str]) -> list[tuple[str, str]]:
    left = list(pieces)
    left.remove(piece)
    return left


def tie_hash(salt: int, member: str, spot: str) -> int:
    """The 20-bit number that makes the answer unique: five hex digits of a SHA-256."""
    return int(hashlib.sha256(f"{salt}|{member}|{spot}".encode()).hexdigest()[:5], 16)


def needs_school_instrument(problem: LineupProblem, member: Member, spot: Spot, kind: str) -> bool:
    """Whether this member on this spot takes one of the school's instruments of the kind."""
    of_kind = any(part.key == spot.part and part.instrument == kind for part in problem.parts)
    return of_kind and any(s.part == spot.part and not s.own_instrument for s in member.skills)


def standing_cost(problem: LineupProblem, member: Member, spot: Spot) -> int:
    """Level 4 of one stand-in: the class of the claim times 128, and the place within class 9."""
    orders = [c.order for c in problem.backups if (c.spot, c.member) == (spot.key, member.key)]
    if orders:
        return min(min(orders), 8) * 128
    if (
        member.standing is not None
        and (member.rank == spot.rank or problem.settings.pool != "rank")
        and member.standing_part == spot.part
    ):
        if problem.settings.fairness_before_standing:
            return 9 * 128 + member.marched_percent
        return 9 * 128 + min(member.standing, 63)
    return 10 * 128


def fairness_cost(problem: LineupProblem, member: Member) -> int:
    """Level 6 of one stand-in: their percent marched, or their standing where staff swapped the
    two."""
    if not problem.settings.fairness_before_standing:
        return member.marched_percent
    return 63 if member.standing is None else min(member.standing, 63)


def split_spots(stand_ins: set[tuple[str, str]]) -> int:
    """How many of the (member, spot) pairs come after the first of their spot."""
    return len(stand_ins) - len({spot for _, spot in stand_ins})


def moved_pairs(problem: LineupProblem, placements: FILLED) -> dict[tuple[str, str], int]:
    """The cost of each (segment, member) that level 3 judges: 0 stays, 2 or 3 moved."""
    ranks = {spot.key: spot.rank for spot in problem.spots}
    members = {member.key: member for member in problem.members}
    now = {(p.segment, p.member): p.spot for p in placements if p.member is not None}
    costs = {}
    for (segment, spot), key in problem.reference:
        if key not in members or segment in members[key].away:
            continue
        if (segment, spot) in problem.left_open:
            continue
        there = now.get((segment, key))
        if there == spot:
            costs[segment, key] = 0
        elif there is None or ranks[there] == ranks[spot]:
            costs[segment, key] = 2
        else:
            costs[segment, key] = 3
    return costs


def leaderless(problem: LineupProblem, placements: FILLED) -> int:
    """How many ranks with leaders and an open seat have none of their leaders in their rank."""
    ranks = {spot.key: spot.rank for spot in problem.spots}
    standing = {(p.segment, ranks[p.spot], p.member) for p in placements}
    marching = {(g, ranks[s]) for g, s in seats_of(problem) if (g, s) not in problem.left_open}
    return sum(
        not any((segment.key, rank.key, leader) in standing for leader in rank.leaders)
        for segment in problem.segments
        for rank in problem.ranks
        if rank.leaders and (segment.key, rank.key) in marching
    )


def evaluate(problem: LineupProblem, placements: FILLED) -> dict[Level, int]:
    """The value of every level for these placements."""
    placed = list(placements)
    members = {member.key: member for member in problem.members}
    spots = {spot.key: spot for spot in problem.spots}
    filled = {(p.segment, p.spot) for p in placed if p.member is not None}
    holes = [s for _, s in set(seats_of(problem)) - filled - problem.left_open]
    pairs = [(members[p.member], spots[p.spot]) for p in placed if p.member is not None]
    away_from_home = [(m, s) for m, s in pairs if m.holds != s.key]
    relearning = {(m, s): cost for m, s, cost in problem.relearning}
    salt = problem.settings.salt
    return {
        Level.HOLES: sum(spots[s].weight if problem.settings.use_weights else 1 for s in holes),
        Level.LEADERLESS: leaderless(problem, placed),
        Level.MOVED: sum(moved_pairs(problem, placed).values()),
        Level.SPLIT: split_spots({(m.key, s.key) for m, s in away_from_home}),
        Level.STANDING: sum(standing_cost(problem, m, s) for m, s in away_from_home),
        Level.RELEARNING: sum(relearning.get((m.key, s.key), 0) for m, s in away_from_home),
        Level.FAIRNESS: sum(fairness_cost(problem, m) for m, _ in away_from_home),
        Level.TIE: sum(tie_hash(salt, m.key, s.key) for m, s in pairs),
    }


def values(problem: LineupProblem, placements: FILLED) -> tuple[int, ...]:
    """``evaluate`` as a tuple in the order of the levels, to compare lexicographically."""
    result = evaluate(problem, placements)
    return tuple(result[level] for level in Level)


def expected_origin(problem: LineupProblem, segment: str, spot: str, member: str | None) -> Origin:
    """The origin that a seat with this member, or nobody, must carry."""
    if (segment, spot) in problem.left_open:
        return Origin.LEFT_OPEN
    if member is None:
        return Origin.HOLE
    if any((p.segment, p.spot) == (segment, spot) for p in problem.pins):
        return Origin.PINNED
    holds = {m.key: m.holds for m in problem.members}
    return Origin.HOLDS if holds[member] == spot else Origin.STANDS_IN


def _broken_seats(problem: LineupProblem, placed: list[Placement]) -> list[str]:
    members = {member.key: member for member in problem.members}
    faults = []
    if Counter((p.segment, p.spot) for p in placed) != Counter(seats_of(problem)):
        faults.append("the placements are not the seats, each once")
    for p in placed:
        if p.origin is not expected_origin(problem, p.segment, p.spot, p.member):
            faults.append(f"origin of {p}")
        if p.member is not None and not may_march(problem, members[p.member], (p.segment, p.spot)):
            faults.append(f"may not march: {p}")
    twice = Counter((p.segment, p.member) for p in placed if p.member is not None)
    faults += [f"two seats: {pair}" for pair, count in twice.items() if count > 1]
    who = {(p.segment, p.spot): p.member for p in placed}
    faults += [f"pin: {p}" for p in problem.pins if who.get((p.segment, p.spot)) != p.member]
    return faults


def _broken_limits(problem: LineupProblem, placed: list[Placement]) -> list[str]:
    members = {member.key: member for member in problem.members}
    spots = {spot.key: spot for spot in problem.spots}
    marching = [p for p in placed if p.member is not None]
    faults = []
    for kind, count in problem.stock:
        used = Counter(
            p.segment
            for p in marching
            if needs_school_instrument(problem, members[p.member or ""], spots[p.spot], kind)
        )
        faults += [f"stock of {kind} in {g}" for g, number in used.items() if number > count]
    taken = [((p.segment, p.spot), p.member or "") for p in marching]
    if not dressed(problem, needs_of(problem, taken)):
        faults.append("spare pieces")
    carried = {p.member for p in marching} | {m.key for m in problem.members if m.must_travel}
    if problem.travel_limit is not None and len(carried) > problem.travel_limit:
        faults.append(f"{len(carried)} travel")
    moved = Counter(g for (g, _), cost in moved_pairs(problem, placed).items() if cost > 0)
    if problem.max_moved is not None:
        faults += [f"{n} moved in {g}" for g, n in moved.items() if n > problem.max_moved]
    return faults


def broken_rules(problem: LineupProblem, placements: FILLED) -> list[str]:
    """Every rule that the placements break, in words for a failing test."""
    placed = list(placements)
    return _broken_seats(problem, placed) + _broken_limits(problem, placed)


def pins_contradict(problem: LineupProblem) -> bool:
    """Whether the pins are at fault by themselves, before any other choice is made."""
    members = {member.key: member for member in problem.members}
    spots = {spot.key: spot for spot in problem.spots}
    seats = set(seats_of(problem))
    for pin in problem.pins:
        seat = (pin.segment, pin.spot)
        if seat not in seats or pin.member not in members:
            return True
        if not may_march(problem, members[pin.member], seat):
            return True
    if len({(p.segment, p.spot) for p in problem.pins}) < len(problem.pins):
        return True
    if len({(p.segment, p.member) for p in problem.pins}) < len(problem.pins):
        return True
    for kind, count in problem.stock:
        used = Counter(
            p.segment
            for p in problem.pins
            if needs_school_instrument(problem, members[p.member], spots[p.spot], kind)
        )
        if any(number > count for number in used.values()):
            return True
    taken = [((p.segment, p.spot), p.member) for p in problem.pins]
    if not dressed(problem, needs_of(problem, taken)):
        return True
    carried = {p.member for p in problem.pins}
    carried |= {m.key for m in problem.members if m.must_travel}
    return bool(problem.pins) and (
        problem.travel_limit is not None and len(carried) > problem.travel_limit
    )
