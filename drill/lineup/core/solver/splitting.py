"""The level that keeps one stand-in at a spot for the whole event.

It is the one level that ties segments together arc by arc, so its columns and rows are many,
and they seldom matter: an answer without them that splits no spot cannot be beaten. Only when
one is split are they written, and only for the arcs that the levels before have left.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from scipy import sparse

from drill.lineup.core.solver.arcs import Arcs
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.model import AT_LEAST, Model, Split


def splits(model: Model, x: Ints) -> bool:
    """True when a spot has two stand-ins in different segments."""
    spot, member = _stand_ins(model.arcs, x[: model.arcs.size] > 0)[1:]
    pairs = np.unique(np.stack([spot, member]), axis=1)
    return bool(pairs.shape[1] > len(np.unique(spot)))


def widened(model: Model, face: Face) -> tuple[Model, Face]:
    """The model with the columns and rows of the level, and the face on it."""
    split = _columns(model, face)
    rows, limit = _rows(model, split)
    columns = model.columns + len(split.pairs) + len(split.spots)
    old = model.matrix
    wide = sparse.csr_matrix((old.data, old.indices, old.indptr), (old.shape[0], columns))
    matrix = sparse.vstack([wide, rows.astype(np.int64)], "csr")
    sense = np.full(len(limit), AT_LEAST, np.int64)
    made = replace(
        model,
        columns=columns,
        matrix=matrix,
        sense=np.append(model.sense, sense),
        limit=np.append(model.limit, limit),
        split=split,
    )
    free = np.append(face.free, np.ones(columns - model.columns, np.bool_))
    return made, Face(free, np.append(face.tight, np.zeros(len(limit), np.bool_)))


def wide_vector(model: Model, x: Ints) -> Ints:
    """A lineup's values on a widened model."""
    out = np.zeros(model.columns, np.int64)
    out[: model.arcs.size] = x[: model.arcs.size]
    model.fill_dependent(out)
    return out


def _stand_ins(arcs: Arcs, wanted: Bools) -> tuple[Ints, Ints, Ints]:
    """Of the wanted arcs those of members who do not hold the spot: arc, spot and member."""
    problem, index = arcs.index.problem, arcs.index
    holds = np.array([index.spot.get(m.holds or "", -1) for m in problem.members], np.int64)
    arc = np.flatnonzero(wanted)
    spot, member = arcs.seat_spot[arcs.seat[arc]], arcs.member[arc]
    stands_in = holds[member] != spot if len(arc) else np.zeros(0, np.bool_)
    return arc[stands_in], spot[stands_in], member[stands_in]


def _columns(model: Model, face: Face) -> Split:
    """The columns for the spots that the face leaves several stand-ins in several segments."""
    arcs = model.arcs
    arc, spot, member = _stand_ins(arcs, face.free[: arcs.size])
    several = _several(spot, member) & _several(spot, arcs.seat_segment[arcs.seat[arc]])
    arc, spot, member = arc[several], spot[several], member[several]
    people = max(len(arcs.index.problem.members), 1)
    keys, pair = np.unique(spot * people + member, return_inverse=True)
    groups, group = np.unique(keys // people, return_inverse=True)
    first, after = model.columns, model.columns + len(keys)
    return Split(
        arc,
        first + pair,
        np.arange(first, after),
        after + group,
        np.arange(after, after + len(groups)),
    )


def _several(group: Ints, value: Ints) -> Bools:
    """Which entries belong to a group that has more than one value."""
    pairs = np.unique(np.stack([group, value]), axis=1)
    groups, count = np.unique(pairs[0], return_counts=True)
    found: Bools = np.isin(group, groups[count > 1])
    return found


def _rows(model: Model, split: Split) -> tuple[sparse.csr_matrix, Ints]:
    """A stand-in counts once they march a segment; a spot counts those beyond the first."""
    arcs, spots = len(split.arc), len(split.spots)
    first = split.spots[0] if spots else 0
    row = [np.arange(arcs), np.arange(arcs), arcs + split.extra - first, arcs + np.arange(spots)]
    column = [split.pair, split.arc, split.pairs, split.spots]
    value = [np.ones(arcs), -np.ones(arcs), -np.ones(len(split.pairs)), np.ones(spots)]
    entries = (np.concatenate(value), (np.concatenate(row), np.concatenate(column)))
    shape = (arcs + spots, model.columns + len(split.pairs) + spots)
    limit = np.append(np.zeros(arcs, np.int64), np.full(spots, -1, np.int64))
    return sparse.csr_matrix(entries, shape), limit
