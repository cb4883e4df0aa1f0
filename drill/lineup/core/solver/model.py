"""The lineup as a linear model: one matrix that the linear program solves and the certificate
checks. Columns are arcs, holes (one a seat without a pin), leaderless ranks and travellers; the
columns that count split spots come later, for what the first levels leave (``splitting``)."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from drill.lineup.core.problem import Level, LineupProblem, Placement
from drill.lineup.core.solver.arcs import Arcs, build_arcs
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.packing import span_of

EQUAL, AT_MOST, AT_LEAST = 0, -1, 1


@dataclass
class _Rows:
    """Rows being written, as arrays of (row, column, coefficient)."""

    row: list[Ints] = field(default_factory=list)
    column: list[Ints] = field(default_factory=list)
    value: list[Ints] = field(default_factory=list)
    sense: list[int] = field(default_factory=list)
    limit: list[int] = field(default_factory=list)

    def open(self, count: int, sense: int, limit: int) -> Ints:
        """Numbers of ``count`` new rows of one sense and limit."""
        first = len(self.sense)
        self.sense += [sense] * count
        self.limit += [limit] * count
        return np.arange(first, first + count)

    def put(self, row: Ints | int, columns: Ints, value: int) -> None:
        """Write one coefficient into each (row, column)."""
        self.row.append(np.broadcast_to(np.asarray(row, np.int64), columns.shape))
        self.column.append(columns)
        self.value.append(np.full(columns.shape, value, np.int64))

    def add(self, columns: Ints, sense: int, limit: int) -> int:
        """One row with coefficient 1 in each column."""
        number = int(self.open(1, sense, limit)[0])
        self.put(number, columns, 1)
        return number

    def matrix(self, columns: int) -> sparse.csr_matrix:
        shape = (len(self.sense), columns)
        if not self.row:
            return sparse.csr_matrix(np.zeros(shape, np.int64))
        entries = (np.concatenate(self.row), np.concatenate(self.column))
        return sparse.csr_matrix((np.concatenate(self.value), entries), shape)


@dataclass(frozen=True)
class Split:
    """The columns that count stand-ins beyond a spot's first: one for each stand-in of a spot (it
    is 1 when they march it in any segment), then one a spot (their number, less one)."""

    arc: Ints
    """arcs of stand-ins on these spots"""
    pair: Ints
    """their stand-in's column"""
    pairs: Ints
    """the stand-ins' columns"""
    extra: Ints
    """the spot's column of each of them"""
    spots: Ints
    """the spots' columns"""

    def fill(self, x: Ints) -> None:
        """Set the columns to the least the arcs allow, in place."""
        x[self.pairs], x[self.spots] = 0, -1
        np.maximum.at(x, self.pair, x[self.arc])
        np.add.at(x, self.extra, x[self.pairs])
        x[self.spots] = np.maximum(x[self.spots], 0)


@dataclass(frozen=True)
class Model:
    """min levels of x, rows A x (=, <=, >=) b, x >= 0 and whole."""

    arcs: Arcs
    hole: Ints
    """seat -> hole column, -1 where the seat is pinned"""
    leaderless: Ints
    traveller: Ints
    """member -> column, empty without a travel limit"""
    columns: int
    matrix: sparse.csr_matrix
    sense: Ints
    limit: Ints
    seat_row: Ints
    node_row: Ints
    """(segment, member) node -> row"""
    node: Ints
    """arc -> its (segment, member) node"""
    traveller_row: Ints
    limits: dict[str, Ints]
    """rows of each limited instrument, and of the travel limit under an empty name"""
    leader_row: Ints
    leader_free: Bools
    """leader rows that no arc can meet: the rank is leaderless whatever is decided"""
    split: Split | None = None

    def cost(self, level: Level, wanted: Bools | None = None) -> Ints:
        """The level's cost of every column; TIE only of the wanted arcs (all when None)."""
        out = np.zeros(self.columns, np.int64)
        arcs = self.arcs
        if level is Level.HOLES:
            seats = np.flatnonzero(self.hole >= 0)
            problem = arcs.index.problem
            weights = np.array([s.weight for s in problem.spots], np.int64)
            weighted = problem.settings.use_weights
            out[self.hole[seats]] = weights[arcs.seat_spot[seats]] if weighted else 1
        elif level is Level.LEADERLESS:
            out[self.leaderless] = 1
        elif level is Level.SPLIT:
            if self.split is not None:
                out[self.split.spots] = 1
        elif level is Level.TIE:
            mask = np.ones(arcs.size, np.bool_) if wanted is None else wanted[: arcs.size]
            out[: arcs.size] = arcs.tie_costs(mask)
        else:
            out[: arcs.size] = arcs.costs[level]
        return out

    def spans(self) -> list[tuple[Level, int]]:
        """Every level, in order, with how many values its sum over a lineup can take."""
        seats = len(self.arcs.seats)
        known = {
            Level.LEADERLESS: len(self.leaderless) + 1,
            Level.TIE: seats * ((1 << 20) - 1) + 1,
        }
        return [(lv, known[lv] if lv in known else span_of(self.cost(lv), seats)) for lv in Level]

    def vector(self, placements: tuple[Placement, ...]) -> Ints:
        """The placements as values of the columns; KeyError when one is no arc."""
        arcs, index = self.arcs, self.arcs.index
        lookup = {
            (int(j), int(i)): a
            for a, (j, i) in enumerate(zip(arcs.seat.tolist(), arcs.member.tolist(), strict=True))
        }
        position = {seat: j for j, seat in enumerate(arcs.seats)}
        x = np.zeros(self.columns, np.int64)
        for p in placements:
            if p.member is not None:
                x[lookup[position[p.segment, p.spot], index.member[p.member]]] = 1
        self.fill_dependent(x)
        return x

    def fill_dependent(self, x: Ints) -> None:
        """Set all other columns to the least the arcs allow, in place."""
        arcs = self.arcs
        filled = np.bincount(arcs.seat, weights=x[: arcs.size], minlength=len(arcs.seats))
        open_seats = np.flatnonzero(self.hole >= 0)
        x[self.hole[open_seats]] = 1 - filled[open_seats].astype(np.int64)
        if len(self.leader_row):
            x[self.leaderless] = 0
            present = np.asarray(self.matrix[self.leader_row] @ x)
            x[self.leaderless] = np.where(present >= 1, 0, 1)
        if len(self.traveller):
            x[self.traveller] = 0
            x[self.traveller[arcs.member[x[: arcs.size] > 0]]] = 1
            must = [i for i, m in enumerate(arcs.index.problem.members) if m.must_travel]
            x[self.traveller[must]] = 1
        if self.split is not None:
            self.split.fill(x)


def build_model(problem: LineupProblem) -> Model:
    """The model of a canonical problem without faults among its pins."""
    arcs = build_arcs(problem)
    pinned = arcs.seat_pinned
    hole = np.where(pinned, -1, arcs.size + np.cumsum(~pinned) - 1).astype(np.int64)
    columns = arcs.size + int((~pinned).sum())
    rows = _Rows()
    seat_row = _add_seats(rows, arcs, hole)
    leaderless, leader_row, leader_free = _add_leaders(rows, arcs, columns)
    columns += len(leaderless)
    limited = problem.travel_limit is not None
    traveller = np.arange(columns, columns + (len(problem.members) if limited else 0))
    columns += len(traveller)
    node_row, node = _add_members(rows, arcs, traveller)
    traveller_row, limits = _add_travel(rows, problem, traveller)
    limits |= _add_stock(rows, arcs)
    _add_moved(rows, arcs)
    return Model(
        arcs,
        hole,
        leaderless,
        traveller,
        columns,
        rows.matrix(columns),
        np.array(rows.sense, np.int64),
        np.array(rows.limit, np.int64),
        seat_row,
        node_row,
        node,
        traveller_row,
        limits,
        leader_row,
        leader_free,
    )


def _add_seats(rows: _Rows, arcs: Arcs, hole: Ints) -> Ints:
    row = rows.open(len(arcs.seats), EQUAL, 1)
    rows.put(row[arcs.seat], np.arange(arcs.size), 1)
    with_hole = hole >= 0
    rows.put(row[with_hole], hole[with_hole], 1)
    return row


def _add_leaders(rows: _Rows, arcs: Arcs, first: int) -> tuple[Ints, Ints, Bools]:
    problem, index = arcs.index.problem, arcs.index
    spot_rank = np.array([index.rank[s.rank] for s in problem.spots], np.int64)
    seat_rank = spot_rank[arcs.seat_spot] if len(arcs.seats) else np.zeros(0, np.int64)
    columns: list[int] = []
    numbers: list[int] = []
    free: list[bool] = []
    for g in range(len(problem.segments)):
        for rank in problem.ranks:
            here = (arcs.seat_segment == g) & (seat_rank == index.rank[rank.key])
            if not rank.leaders or not here.any():
                continue
            leaders = [index.member[key] for key in rank.leaders if key in index.member]
            able = np.flatnonzero(here[arcs.seat] & np.isin(arcs.member, leaders))
            row = rows.add(np.append(able, first + len(columns)), AT_LEAST, 1)
            columns.append(first + len(columns))
            numbers.append(row)
            free.append(not len(able))
    return np.array(columns, np.int64), np.array(numbers, np.int64), np.array(free, np.bool_)


def _add_members(rows: _Rows, arcs: Arcs, traveller: Ints) -> tuple[Ints, Ints]:
    """One row for each (segment, member) that has an arc: the nodes, and each arc's node."""
    people = max(len(arcs.index.problem.members), 1)
    segment = arcs.seat_segment[arcs.seat] if arcs.size else np.zeros(0, np.int64)
    keys, node = np.unique(segment * people + arcs.member, return_inverse=True)
    row = rows.open(len(keys), AT_MOST, 0 if len(traveller) else 1)
    rows.put(row[node], np.arange(arcs.size), 1)
    if len(traveller):
        rows.put(row, traveller[keys % people], -1)
    return row, node


def _add_travel(
    rows: _Rows, problem: LineupProblem, traveller: Ints
) -> tuple[Ints, dict[str, Ints]]:
    if not len(traveller):
        return np.zeros(0, np.int64), {}
    out = [
        rows.add(traveller[i : i + 1], EQUAL if m.must_travel else AT_MOST, 1)
        for i, m in enumerate(problem.members)
    ]
    limit = rows.add(traveller, AT_MOST, problem.travel_limit or 0)
    return np.array(out, np.int64), {"": np.array([limit])}


def _add_moved(rows: _Rows, arcs: Arcs) -> None:
    most = arcs.index.problem.max_moved
    if most is None:
        return
    for g, count in enumerate(arcs.reference_count.tolist()):
        here = arcs.stays & (arcs.seat_segment[arcs.seat] == g)
        rows.add(np.flatnonzero(here), AT_LEAST, count - most)


def _add_stock(rows: _Rows, arcs: Arcs) -> dict[str, Ints]:
    problem = arcs.index.problem
    kind_of = {p.key: p.instrument for p in problem.parts}
    spot_kind = np.array([kind_of[s.part] for s in problem.spots])
    found: dict[str, list[int]] = {}
    for kind, count in problem.stock:
        for g in range(len(problem.segments)):
            if not arcs.size:
                continue
            takes = arcs.takes_stock & (spot_kind[arcs.seat_spot[arcs.seat]] == kind)
            users = np.flatnonzero(takes & (arcs.seat_segment[arcs.seat] == g))
            if len(users) > count:
                found.setdefault(kind, []).append(rows.add(users, AT_MOST, count))
    return {kind: np.array(numbers) for kind, numbers in found.items()}
