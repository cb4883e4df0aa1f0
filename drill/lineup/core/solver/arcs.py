"""The arcs of the lineup graph (who may march which seat) and their cost at every level."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drill.lineup.core.check import (
    COVER_CLASS_SIZE,
    MOVED_ACROSS,
    MOVED_OFF,
    MOVED_WITHIN,
    OTHER_CLASS,
    OWN_RANK_CLASS,
    tie_cost,
)
from drill.lineup.core.problem import (
    MAX_COVER_ORDER,
    MAX_RELEARNING,
    MAX_STANDING,
    MAX_TURNS,
    Level,
    LineupProblem,
    Seat,
)
from drill.lineup.core.rules import bar_applies

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class Index:
    """Positions of a canonical problem's rows."""

    problem: LineupProblem
    member: dict[str, int]
    spot: dict[str, int]
    segment: dict[str, int]
    rank: dict[str, int]
    part: dict[str, int]

    @classmethod
    def of(cls, problem: LineupProblem) -> Index:
        def positions(keys: Sequence[str]) -> dict[str, int]:
            return {key: i for i, key in enumerate(keys)}

        ranks = sorted({s.rank for s in problem.spots} | {r.key for r in problem.ranks})
        return cls(
            problem,
            positions([m.key for m in problem.members]),
            positions([s.key for s in problem.spots]),
            positions([g.key for g in problem.segments]),
            positions(ranks),
            positions([p.key for p in problem.parts]),
        )


@dataclass(frozen=True)
class Arcs:
    """Allowed (member, seat) pairs sorted by seat then member, with integer level costs.

    Arrays have one entry an arc, except ``seat_*`` (one a seat). MOVED entries are
    differences from what it costs when nobody of the reference is placed.
    """

    index: Index
    seats: tuple[Seat, ...]
    seat_segment: Ints
    seat_spot: Ints
    seat_pinned: Bools
    member: Ints
    seat: Ints
    takes_stock: Bools
    stays: Bools
    costs: dict[Level, Ints]
    reference_count: int

    @property
    def size(self) -> int:
        return len(self.member)

    def tie_costs(self, wanted: Bools) -> Ints:
        """The TIE costs of the wanted arcs, zero elsewhere (hashing all would cost more than
        solving)."""
        members = [m.key for m in self.index.problem.members]
        spots = [s.key for s in self.index.problem.spots]
        salt = self.index.problem.settings.salt
        out = np.zeros(self.size, np.int64)
        spot_of = self.seat_spot[self.seat]
        for i in np.flatnonzero(wanted):
            out[i] = tie_cost(salt, members[self.member[i]], spots[spot_of[i]])
        return out


def build_arcs(problem: LineupProblem) -> Arcs:
    """All arcs of a canonical problem."""
    index = Index.of(problem)
    seats = tuple(
        (g.key, s) for g in problem.segments for s in g.spots if (g.key, s) not in problem.left_open
    )
    seat_segment = np.array([index.segment[g] for g, _ in seats], np.int64)
    seat_spot = np.array([index.spot[s] for _, s in seats], np.int64)
    member, seat, stock = _allowed_pairs(index, seats, seat_segment, seat_spot)
    keep, pinned = _apply_orders(index, seats, member, seat, seat_segment)
    member, seat, stock = member[keep], seat[keep], stock[keep]
    spot = seat_spot[seat]
    moved, stays, count = _moved_costs(index, seats, member, seat_segment[seat], spot)
    costs = _standing_levels(index, member, spot)
    costs[Level.MOVED] = moved
    return Arcs(
        index,
        seats,
        seat_segment,
        seat_spot,
        pinned,
        member,
        seat,
        stock,
        stays,
        costs,
        count,
    )


def _allowed_pairs(
    index: Index, seats: tuple[Seat, ...], seat_segment: Ints, seat_spot: Ints
) -> tuple[Ints, Ints, Bools]:
    problem = index.problem
    spot_part = [s.part for s in problem.spots]
    skilled: dict[str, dict[int, bool]] = {}
    for i, m in enumerate(problem.members):
        for skill in m.skills:
            owners = skilled.setdefault(skill.part, {})
            owners[i] = owners.get(i, False) or skill.own_instrument
    groups: dict[tuple[int, str], list[int]] = {}
    for j, (g, s) in enumerate(zip(seat_segment.tolist(), seat_spot.tolist(), strict=True)):
        groups.setdefault((g, spot_part[s]), []).append(j)
    away = [m.away for m in problem.members]
    members, chairs, stocks = [], [], []
    for (g, part), group in groups.items():
        segment = problem.segments[g].key
        able = [i for i in skilled.get(part, ()) if segment not in away[i]]
        own = np.array([skilled[part][i] for i in able], np.bool_)
        members.append(np.tile(np.array(able, np.int64), len(group)))
        chairs.append(np.repeat(np.array(group, np.int64), len(able)))
        stocks.append(np.tile(~own, len(group)))
    if not groups:
        empty = np.zeros(0, np.int64)
        return empty, empty, np.zeros(0, np.bool_)
    member, seat, stock = np.concatenate(members), np.concatenate(chairs), np.concatenate(stocks)
    order = np.lexsort((member, seat))
    return member[order], seat[order], stock[order]


def _apply_orders(
    index: Index, seats: tuple[Seat, ...], member: Ints, seat: Ints, seat_segment: Ints
) -> tuple[Bools, Bools]:
    """Which pairs bars, pins and the need of experience leave, and which seats are pinned."""
    problem = index.problem
    keep = np.ones(len(member), np.bool_)
    holds = np.array([index.spot.get(m.holds or "", -1) for m in problem.members], np.int64)
    experienced = np.array([m.experienced for m in problem.members], np.bool_)
    spot_of = np.array([index.spot[s] for _, s in seats], np.int64)
    needs = np.array([s.needs_experience for s in problem.spots], np.bool_)
    if len(member):
        spot = spot_of[seat]
        keep &= ~needs[spot] | experienced[member] | (holds[member] == spot)
    for bar in problem.bars:
        barred = np.array([bar_applies(bar, g, s) for g, s in seats], np.bool_)
        keep &= ~((member == index.member.get(bar.member, -1)) & barred[seat])
    pinned = np.zeros(len(seats), np.bool_)
    position = {s: j for j, s in enumerate(seats)}
    for pin in problem.pins:
        j, i = position[pin.segment, pin.spot], index.member[pin.member]
        pinned[j] = True
        touches = (seat == j) | ((member == i) & (seat_segment[seat] == seat_segment[j]))
        keep &= ~touches | ((seat == j) & (member == i))
    return keep, pinned


def _moved_costs(
    index: Index, seats: tuple[Seat, ...], member: Ints, segment: Ints, spot: Ints
) -> tuple[Ints, Bools, int]:
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
    count = int((home >= 0).sum())
    return costs.astype(np.int64), stays, count


def _standing_levels(index: Index, member: Ints, spot: Ints) -> dict[Level, Ints]:
    problem = index.problem
    people = problem.members
    standing = np.array(
        [MAX_STANDING if m.standing is None else min(m.standing, MAX_STANDING) for m in people],
        np.int64,
    )
    turns = np.array([min(max(m.turns, 0), MAX_TURNS) for m in people], np.int64)
    fair = problem.settings.fairness_before_standing
    holds = np.array([index.spot.get(m.holds or "", -1) for m in people], np.int64)
    if not len(member):
        empty = np.zeros(0, np.int64)
        return {Level.STANDING: empty, Level.RELEARNING: empty, Level.FAIRNESS: empty}
    away_from_home = holds[member] != spot
    within = (turns if fair else standing)[member]
    own = _own_alternates(index, member, spot)
    rung = np.where(own, OWN_RANK_CLASS * COVER_CLASS_SIZE + within, OTHER_CLASS * COVER_CLASS_SIZE)
    width = len(problem.spots)
    pair = member * width + spot
    covers: dict[int, int] = {}
    for cover in problem.covers:
        if cover.member in index.member and cover.spot in index.spot:
            key = index.member[cover.member] * width + index.spot[cover.spot]
            covers[key] = min(covers.get(key, MAX_COVER_ORDER), cover.order)
    count = len(covers)
    steps = np.fromiter(covers.values(), np.int64, count) * COVER_CLASS_SIZE
    rung = _overlay(rung, pair, np.fromiter(covers, np.int64, count), steps)
    keys, lessons = _lessons(index, width)
    relearning = _overlay(np.zeros(len(member), np.int64), pair, keys, lessons)
    last = (standing if fair else turns)[member]
    return {
        Level.STANDING: np.where(away_from_home, rung, 0).astype(np.int64),
        Level.RELEARNING: np.where(away_from_home, relearning, 0).astype(np.int64),
        Level.FAIRNESS: np.where(away_from_home, last, 0).astype(np.int64),
    }


def _own_alternates(index: Index, member: Ints, spot: Ints) -> Bools:
    people, spots = index.problem.members, index.problem.spots
    rank = np.array([index.rank.get(m.rank or "", -1) for m in people], np.int64)
    part = np.array(
        [-1 if m.standing is None else index.part.get(m.standing_part or "", -1) for m in people],
        np.int64,
    )
    spot_rank = np.array([index.rank[s.rank] for s in spots], np.int64)
    spot_part = np.array([index.part[s.part] for s in spots], np.int64)
    own: Bools = (rank[member] == spot_rank[spot]) & (part[member] == spot_part[spot])
    return own


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
