"""The level that keeps one stand-in at a spot for the whole event.

It is the one level that ties segments together arc by arc, so its columns and rows are many,
and they seldom matter: an answer without them that splits no spot cannot be beaten. Only when
one is split are they written, and only for the arcs that the levels before have left.
"""

from __future__ import annotations

import numpy as np
from scipy import sparse

from drill.lineup.core.solver.arcs import Arcs
from drill.lineup.core.solver.face import Face
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.model import Model, Split
from drill.lineup.core.solver.rows import NO_ROW, Family


def split_spots(arcs: Arcs, chosen: Ints) -> int:
    """How many stand-ins the spots have beyond their first."""
    spot, member = _stand_ins(arcs, chosen)[1:]
    pairs = np.unique(spot * max(len(arcs.people.keys), 1) + member)
    return len(pairs) - len(np.unique(spot))


def splits(model: Model, chosen: Ints) -> bool:
    """True when a spot has two stand-ins in different segments."""
    return len(model.problem.segments) > 1 and split_spots(model.arcs, chosen) > 0


def widened(model: Model, face: Face) -> tuple[Model, Face]:
    """The model with the columns and rows of the level, and the face on it."""
    split = _columns(model, face)
    arcs, spots = len(split.arc), len(split.spots)
    row = np.full(model.arcs.size, NO_ROW)
    row[split.arc] = model.rows + np.arange(arcs)
    limit = np.append(np.zeros(arcs, np.int64), np.full(spots, -1, np.int64))
    made = model.widened(Family(row, -1), _others(model, split), limit, split)
    more = made.others.shape[1] - len(face.others)
    free = np.append(face.others, np.ones(more, np.bool_))
    return made, Face(face.arcs, free, np.append(face.tight, np.zeros(len(limit), np.bool_)))


def _stand_ins(arcs: Arcs, wanted: Ints) -> tuple[Ints, Ints, Ints]:
    """Of the wanted arcs those of members who do not hold the spot: arc, spot and member."""
    spot, member = arcs.seat_spot[arcs.seat[wanted]], arcs.member[wanted]
    stands_in = arcs.people.holds[member] != spot if len(wanted) else np.zeros(0, np.bool_)
    return wanted[stands_in], spot[stands_in], member[stands_in]


def _columns(model: Model, face: Face) -> Split:
    """The columns for the spots that the face leaves several stand-ins in several segments."""
    arcs = model.arcs
    arc, spot, member = _stand_ins(arcs, face.arcs)
    several = _several(spot, member) & _several(spot, arcs.seat_segment[arcs.seat[arc]])
    arc, spot, member = arc[several], spot[several], member[several]
    people = max(len(arcs.people.keys), 1)
    keys, pair = np.unique(spot * people + member, return_inverse=True)
    groups, group = np.unique(keys // people, return_inverse=True)
    first = model.others.shape[1]
    after = first + len(keys)
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


def _others(model: Model, split: Split) -> sparse.csc_matrix:
    """The other columns with the level's: a stand-in counts once they march a segment; a spot
    counts those beyond the first."""
    arcs, spots, first = len(split.arc), len(split.spots), model.rows
    by_spot = first + arcs + split.extra - (split.spots[0] if spots else 0)
    row = [first + np.arange(arcs), by_spot, first + arcs + np.arange(spots)]
    column = [split.pair, split.pairs, split.spots]
    value = [np.ones(arcs), -np.ones(len(split.pairs)), np.ones(spots)]
    old = model.others.tocoo()
    entries = (
        np.concatenate([old.data, *value]),
        (np.concatenate([old.row, *row]), np.concatenate([old.col, *column])),
    )
    shape = (first + arcs + spots, old.shape[1] + len(split.pairs) + spots)
    return sparse.csc_matrix(entries, shape).astype(np.int64)
