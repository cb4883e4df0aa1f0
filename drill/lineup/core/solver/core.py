"""What is still to be decided on a face, and prices for all that is decided.

A seat that a single column can fill is decided; its member can march no other seat, which decides
more seats. After the first levels few are left, and the program of those few is small.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Floats, Ints
from drill.lineup.core.solver.model import Model, Point
from drill.lineup.core.solver.part import Costs, Part, entries_of


@dataclass(frozen=True)
class Step:
    """Seats decided at once, by the place of their arcs on the face, and the arcs that left
    with them."""

    taken: Ints
    left: Ints


@dataclass(frozen=True)
class Core:
    """The part that is left, the places of its arcs on the face, and the steps that led to it.
    ``empty`` are the seats decided to be holes, ``unled`` the ranks decided to be leaderless."""

    part: Part
    face: Face
    arcs: Ints
    steps: tuple[Step, ...]
    empty: Ints
    unled: Ints

    @property
    def columns(self) -> Ints:
        """Its arcs."""
        return self.face.arcs[self.arcs]

    def decided(self) -> Ints:
        """The arcs that the steps took."""
        taken = [step.taken for step in self.steps]
        found: Ints = self.face.arcs[np.concatenate([self.arcs[:0], *taken])]
        return found

    def settle(self, costs: Costs, prices: Floats) -> Floats:
        """The prices with those of the rows left out, in place; what is decided last is priced
        first."""
        model, face = self.part.model, self.face
        rest = costs.others - model.other_products(prices)
        prices[self.empty] = rest[model.hole[self.empty]]
        prices[model.leader_row[self.unled]] += rest[model.leaderless[self.unled]]
        seat, row = model.arcs.seat[face.arcs], model.node_row[model.node[face.arcs]]
        for step in reversed(self.steps):
            left, taken = step.left, step.taken
            short = costs.arcs[left] - model.products(prices, face.arcs[left])
            np.minimum.at(prices, row[left], short)
            rest = costs.arcs[taken] - model.products(prices, face.arcs[taken])
            prices[seat[taken]] += rest
        return prices


def core_of(model: Model, face: Face) -> Core:
    """What a face leaves to decide, for a model without travellers or split spots."""
    arcs, seats = face.arcs, len(model.arcs.seats)
    seat, node = model.arcs.seat[arcs], model.node[arcs]
    hole = face.may_be_empty(model)
    there, decided = np.arange(len(arcs)), np.zeros(seats, np.bool_)
    steps: list[Step] = []
    while True:
        single = (np.bincount(seat[there], minlength=seats) + hole == 1) & ~decided
        if not single.any():
            break
        decided |= single
        taken = there[single[seat[there]]]
        gone = np.zeros(len(model.node_row), np.bool_)
        gone[node[taken]] = True
        leaves = gone[node[there]]
        left = there[leaves & ~single[seat[there]]]
        steps.append(Step(taken, left))
        there = there[~leaves]
    taken = [step.taken for step in steps]
    done = model.point(np.sort(arcs[np.concatenate([there[:0], *taken])]))
    empty = decided.copy()
    empty[model.arcs.seat[done.arcs]] = False
    part = _part(model, face, done, decided, there)
    unled = (part.place[model.leader_row] < 0) & (done.others[model.leaderless] > 0)
    return Core(part, face, there, tuple(steps), np.flatnonzero(empty), np.flatnonzero(unled))


def _part(model: Model, face: Face, done: Point, decided: Bools, there: Ints) -> Part:
    """The rows of what is left; side rows have left what is done. Takes the columns that are left
    out of that."""
    arcs = face.arcs[there]
    kept = np.zeros(model.rows + 1, np.bool_)
    for family in model.families:
        kept[family.row[arcs]] = True
    kept[: len(decided)] = ~decided
    kept[-1] = False
    open_holes = model.hole[~decided & (model.hole >= 0)]
    others = np.append(open_holes, model.leaderless[kept[model.leader_row]])
    # Levels that are held may have no arcs, only holes or leaderless ranks.
    kept[model.others.indices[entries_of(model.others, others)[1]]] = True
    rows = np.flatnonzero(kept)
    place = np.full(model.rows + 1, -1)
    place[rows] = np.arange(len(rows))
    done.others[others] = 0
    limit = (model.limit - model.activity(done))[rows]
    return Part(model, others[face.others[others]], rows, place, limit, complete=True)
