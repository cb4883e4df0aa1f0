"""Two faces that between them hold every lineup of one that is worth having."""

from __future__ import annotations

import numpy as np

from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.model import Model


def branches(model: Model, face: Face, column: int) -> tuple[Face, Face]:
    """The face without the column, and the face on which it is one (arcs are numbered first).

    An arc or hole that is one leaves its seat no other column. A rank is led, or none of its
    leaders is on its seats. Somebody does not travel, or does.
    """
    if column < model.arcs.size:
        return _arc(model, face, column)
    other, seat = column - model.arcs.size, model.arcs.seat[face.arcs]
    zero = _without(face, others=other)
    holes = np.flatnonzero(model.hole == other)
    if len(holes):
        return zero, _without(face, seat == holes[0])
    ranks = np.flatnonzero(model.leaderless == other)
    if len(ranks):
        return zero, _without(face, in_row(model, face.arcs, int(model.leader_row[ranks[0]])))
    number = int(np.flatnonzero(model.traveller == other)[0])
    goes = model.traveller_of[model.arcs.member[face.arcs]] == number
    tight = face.tight.copy()
    tight[model.traveller_row[number]] = True
    return _without(face, goes, other), Face(face.arcs, face.others, tight)


def in_row(model: Model, arcs: Ints, row: int) -> Bools:
    """Which of the arcs stand in a row."""
    found = np.zeros(len(arcs), np.bool_)
    for family in model.families:
        found |= family.row[arcs] == row
    return found


def _arc(model: Model, face: Face, arc: int) -> tuple[Face, Face]:
    itself, seat = face.arcs == arc, model.arcs.seat[arc]
    rivals = (model.arcs.seat[face.arcs] == seat) | (model.node[face.arcs] == model.node[arc])
    hole = int(model.hole[seat])
    one = _without(face, rivals & ~itself, hole if hole >= 0 else None)
    return _without(face, itself), one


def _without(face: Face, arcs: Bools | None = None, others: int | None = None) -> Face:
    left = face.others
    if others is not None:
        left = left.copy()
        left[others] = False
    return Face(face.arcs if arcs is None else face.arcs[~arcs], left, face.tight)
