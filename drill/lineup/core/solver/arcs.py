"""The arcs of the lineup graph (who may march which seat) and their cost at every level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.level_values import tie_cost
from drill.lineup.core.problem import Level, LineupProblem, Seat
from drill.lineup.core.rules import block_applies
from drill.lineup.core.solver.arc_costs import moved_costs, standing_levels
from drill.lineup.core.solver.index import Bools, Index, Ints


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
    reference_count: Ints
    """segment -> how many may stay in their reference seat"""

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
    moved, stays, count = moved_costs(index, seats, member, seat_segment[seat], spot)
    costs = standing_levels(index, member, spot)
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
    """Which pairs blocks, pins and the need of experience leave, and which seats are pinned."""
    problem = index.problem
    keep = np.ones(len(member), np.bool_)
    holds = np.array([index.spot.get(m.holds or "", -1) for m in problem.members], np.int64)
    experienced = np.array([m.experienced for m in problem.members], np.bool_)
    spot_of = np.array([index.spot[s] for _, s in seats], np.int64)
    needs = np.array([s.needs_experience for s in problem.spots], np.bool_)
    if len(member):
        spot = spot_of[seat]
        keep &= ~needs[spot] | experienced[member] | (holds[member] == spot)
    for block in problem.blocks:
        blocked = np.array([block_applies(block, g, s) for g, s in seats], np.bool_)
        keep &= ~((member == index.member.get(block.member, -1)) & blocked[seat])
    pinned = np.zeros(len(seats), np.bool_)
    position = {s: j for j, s in enumerate(seats)}
    for pin in problem.pins:
        j, i = position[pin.segment, pin.spot], index.member[pin.member]
        pinned[j] = True
        touches = (seat == j) | ((member == i) & (seat_segment[seat] == seat_segment[j]))
        keep &= ~touches | ((seat == j) & (member == i))
    return keep, pinned
