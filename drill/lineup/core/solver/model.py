"""The lineup as a linear model: the rows that the linear program solves and the certificate checks.

Columns are the arcs, then the *others*: holes (one a seat without a pin), leaderless ranks,
travellers and the sizes of spare pieces (``wardrobe``); the columns that count split spots come
later, for what the first levels leave (``splitting``). An arc is in few rows, one of each *family*
at most (its seat's, its member's, its leader's ...), so that pricing all arcs is a handful of
look-ups and no matrix is made for them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TypeVar

import numpy as np
from scipy import sparse

from drill.lineup.core.level_values import MOVED_OFF
from drill.lineup.core.problem import Level, LineupProblem, Placement
from drill.lineup.core.solver.arcs import Arcs
from drill.lineup.core.solver.index import Bools, Floats, Ints
from drill.lineup.core.solver.packing import span_of
from drill.lineup.core.solver.rows import AT_LEAST, AT_MOST, EQUAL, NO_ROW, Family
from drill.lineup.core.solver.wardrobe import Wardrobe

__all__ = ["AT_LEAST", "AT_MOST", "EQUAL", "Model", "Point", "Split"]

Numbers = TypeVar("Numbers", Ints, Floats)
TIE_SPAN = (1 << 20) - 1


@dataclass(frozen=True)
class Point:
    """Values of the columns: the arcs that are one, and every other column's value."""

    arcs: Ints
    others: Ints


@dataclass(frozen=True)
class Split:
    """The columns that count stand-ins beyond a spot's first: one for each stand-in of a spot (it
    is 1 when they march it in any segment), then one a spot (their number, less one)."""

    arc: Ints
    """arcs of stand-ins on these spots"""
    pair: Ints
    """their stand-in's column, counted among the others"""
    pairs: Ints
    """the stand-ins' columns"""
    extra: Ints
    """the spot's column of each of them"""
    spots: Ints
    """the spots' columns"""

    def fill(self, arcs: Ints, others: Ints) -> None:
        """Set the columns to the least the arcs allow, in place."""
        others[self.pairs], others[self.spots] = 0, -1
        others[self.pair[np.isin(self.arc, arcs)]] = 1
        np.add.at(others, self.extra, others[self.pairs])
        others[self.spots] = np.maximum(others[self.spots], 0)


@dataclass(frozen=True)
class Model:
    """min levels of x, rows A x (=, <=, >=) b, x >= 0 and whole. Numbers of holes, leaderless
    ranks and travellers count among the other columns."""

    problem: LineupProblem
    arcs: Arcs
    families: tuple[Family, ...]
    others: sparse.csc_matrix
    """rows x other columns"""
    sense: Ints
    limit: Ints
    hole: Ints
    """seat -> hole column, -1 where the seat is pinned"""
    leaderless: Ints
    traveller: Ints
    """columns of those whose way is decided in several segments, where travel is limited"""
    traveller_of: Ints
    """member -> their place among these, -1 for others"""
    node: Ints
    """arc -> its (segment, member) node"""
    node_row: Ints
    node_member: Ints
    traveller_row: Ints
    limits: dict[str, Ints]
    """rows of each limited instrument, and of the travel limit under an empty name"""
    leader_row: Ints
    leader_free: Bools
    """leader rows that no arc can meet: the rank is leaderless whatever is decided"""
    split: Split | None = None
    wardrobe: Wardrobe | None = None
    """spare pieces, where some could be too few"""

    @property
    def rows(self) -> int:
        return len(self.sense)

    @property
    def all_arcs(self) -> Ints:
        return self.arcs.every

    @cached_property
    def transposed(self) -> sparse.csr_matrix:
        """Other columns x rows."""
        return self.others.T.tocsr()

    @cached_property
    def has_side_rules(self) -> bool:
        """Whether there is more than seats and members; a rank that cannot be led is none."""
        return bool(len(self.families) > 2 or len(self.traveller) or (~self.leader_free).any())

    @property
    def is_wide(self) -> bool:
        """Whether there are columns that tie several seats together."""
        return bool(len(self.traveller) or self.split or self.wardrobe)

    def decided(self, others: Floats) -> Floats:
        """Values of the other columns with those set to whole ones that who marches decides."""
        if self.wardrobe is None or not len(others):
            return others
        found = others.copy()
        found[self.wardrobe.column] = np.rint(found[self.wardrobe.column])
        return found

    def arc_cost(self, level: Level, arcs: Ints) -> Ints:
        """What each of the arcs costs at the level."""
        if level is Level.TIE:
            return self.arcs.tie_costs(arcs)
        if level in self.arcs.costs:
            return self.arcs.of(self.arcs.costs[level], arcs)
        return np.zeros(len(arcs), np.int64)

    def other_cost(self, level: Level) -> Ints:
        """What each other column costs at the level."""
        out = np.zeros(self.others.shape[1], np.int64)
        if level is Level.HOLES:
            seats = np.flatnonzero(self.hole >= 0)
            weights = self.arcs.places.weight[self.arcs.seat_spot[seats]]
            out[self.hole[seats]] = weights if self.problem.settings.use_weights else 1
        elif level is Level.LEADERLESS:
            out[self.leaderless] = 1
        elif level is Level.SPLIT and self.split is not None:
            out[self.split.spots] = 1
        return out

    def packed(self, levels: Sequence[Level], weights: Sequence[int], arcs: Ints) -> Ints:
        """What each of the arcs costs in levels of these weights."""
        total = np.zeros(len(arcs), np.int64)
        for level, weight in zip(levels, weights, strict=True):
            if level in self.arcs.costs or level is Level.TIE:
                total += self.arc_cost(level, arcs) * weight
        return total

    def packed_others(self, levels: Sequence[Level], weights: Sequence[int]) -> Ints:
        """What each other column costs in levels of these weights."""
        total = np.zeros(self.others.shape[1], np.int64)
        for level, weight in zip(levels, weights, strict=True):
            total += self.other_cost(level) * weight
        return total

    def spans(self) -> list[tuple[Level, int]]:
        """Every level, in order, with how many values its sum over a lineup can take."""
        return [(level, self.span(level)) for level in Level]

    def span(self, level: Level) -> int:
        """How many values the level's sum over a lineup can take."""
        seats = len(self.arcs.seats)
        if level is Level.LEADERLESS:
            return len(self.leaderless) + 1
        if level is Level.TIE:
            return seats * TIE_SPAN + 1
        if level in self.arcs.ranges:
            low, high = self.arcs.ranges[level]
            return seats * (high - low) + 1
        return span_of(self.other_cost(level), seats)

    def value(self, level: Level, point: Point) -> int:
        """The level's value at a point, in the level's own figures."""
        found = int(self.arc_cost(level, point.arcs).sum())
        found += int(self.other_cost(level) @ point.others)
        if level is Level.MOVED:
            found += MOVED_OFF * int(self.arcs.reference_count.sum())
        return found

    def products(self, prices: Numbers, arcs: Ints) -> Numbers:
        """For each of the arcs the sum of its rows' prices; ``prices`` has one more entry, 0."""
        of, every = self.arcs.of, self.all_arcs
        if arcs is not every and 2 * len(arcs) > len(every):
            return self.products(prices, every)[arcs]  # Looking all up in turn is faster.
        total: Numbers = prices[of(self.families[0].row, arcs)]
        for family in self.families[1:]:
            found = prices[of(family.row, arcs)]
            if isinstance(family.value, int):
                total += found if family.value == 1 else found * family.value
            else:
                total += found * of(family.value, arcs)
        return total

    def other_products(self, prices: Numbers) -> Numbers:
        """The same for each other column."""
        found: Numbers = self.transposed @ prices[:-1]
        return found

    def activity(self, point: Point) -> Ints:
        """The rows' values."""
        total = np.zeros(self.rows + 1, np.int64)
        for family in self.families:
            np.add.at(total, family.row[point.arcs], family.value_of(point.arcs))
        found: Ints = total[:-1] + self.others @ point.others
        return found

    def is_feasible(self, point: Point) -> bool:
        """True when every row holds and no value is below zero."""
        slack = self.activity(point) - self.limit
        too_much = (slack > 0) & (self.sense != AT_LEAST)
        too_little = (slack < 0) & (self.sense != AT_MOST)
        return not (too_much.any() or too_little.any() or (point.others < 0).any())

    def point(self, arcs: Ints) -> Point:
        """The arcs with all other columns at the least they allow."""
        of, others = self.arcs, np.zeros(self.others.shape[1], np.int64)
        filled = np.bincount(of.seat[arcs], minlength=len(of.seats))
        seats = np.flatnonzero(self.hole >= 0)
        others[self.hole[seats]] = 1 - filled[seats]
        if len(self.leader_row):
            led = np.zeros(self.rows + 1, np.bool_)
            for family in self.families:
                led[family.row[arcs]] = True
            others[self.leaderless] = ~led[self.leader_row]
        if len(self.traveller):
            going = self.traveller_of[of.member[arcs]]
            others[self.traveller[going[going >= 0]]] = 1
        if self.split is not None:
            self.split.fill(arcs, others)
        if self.wardrobe is not None:
            self.wardrobe.fill(arcs, others)
        return Point(arcs, others)

    def point_of(self, placements: tuple[Placement, ...]) -> Point:
        """The placements as a point; KeyError when one is no arc."""
        position = {seat: j for j, seat in enumerate(self.arcs.seats)}
        number = self.arcs.people.number
        stood = [p for p in placements if p.member is not None]
        found = [self.arcs.find(position[p.segment, p.spot], number[p.member or ""]) for p in stood]
        return self.point(np.array(sorted(found), np.int64))

    def held(self, levels: Iterable[Level], point: Point) -> Model:
        """The model with a row for each of the levels: no more than at the point."""
        families, others = list(self.families), [self.others]
        limit: list[int] = []
        for level in levels:
            cost, other = self.arc_cost(level, self.all_arcs), self.other_cost(level)
            row = np.where(cost != 0, self.rows + len(limit), NO_ROW)
            families.append(Family(row, cost))
            others.append(sparse.csc_matrix(other[None, :]))
            limit.append(int(cost[point.arcs].sum() + other @ point.others))
        return replace(
            self,
            families=tuple(families),
            others=sparse.vstack(others, "csc"),
            sense=np.append(self.sense, np.full(len(limit), AT_MOST, np.int64)),
            limit=np.append(self.limit, np.array(limit, np.int64)),
        )

    def widened(self, more: Family, others: sparse.csc_matrix, limit: Ints, split: Split) -> Model:
        """The model with the columns and rows (all at least) that count split spots."""
        sense = np.full(len(limit), AT_LEAST, np.int64)
        return replace(
            self,
            families=(*self.families, more),
            others=others,
            sense=np.append(self.sense, sense),
            limit=np.append(self.limit, limit),
            split=split,
        )
