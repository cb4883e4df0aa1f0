"""Where the simplex method begins: at a matching's prices, or at a lineup."""

from __future__ import annotations

import numpy as np

from drill.lineup.core.solver.index import Ints
from drill.lineup.core.solver.matching import Matched
from drill.lineup.core.solver.model import Model, Point
from drill.lineup.core.solver.part import Part

LOWER, BASIC, UPPER = 0, 1, 2


def at_prices(model: Model, arcs: Ints, matched: Matched) -> tuple[Ints, Ints]:
    """The status of every column (other columns, then ``arcs``) and row where a matching stands.

    Basic are the matched arcs and holes, for a member with a price the arc that it comes from
    and otherwise the row's slack, those who travel, and the slack of every side row: the prices
    are those of the matching, and whatever is infeasible is a side rule.
    """
    point = model.point(matched.arcs)
    others, rows = _standing(model, point)
    priced = matched.node_price != 0
    rows[model.node_row[priced]] = UPPER
    if len(model.traveller):
        of = model.traveller_of
        going = of[np.append(model.arcs.member[matched.arcs], model.node_member[priced])]
        going = going[going >= 0]
        others[model.traveller[going]] = BASIC
        rows[model.traveller_row[going]] = UPPER
    basic = np.zeros(model.arcs.size, np.int64)
    basic[matched.arcs] = BASIC
    basic[matched.tree] = BASIC
    return np.append(others, basic[arcs]), rows


def at_point(part: Part, arcs: Ints, point: Point) -> tuple[Ints, Ints]:
    """The same where a lineup stands, for a part without travellers or split spots."""
    others, rows = _standing(part.model, point)
    basic = np.zeros(part.model.arcs.size, np.int64)
    basic[point.arcs] = BASIC
    return np.append(others[part.others], basic[arcs]), rows[part.rows]


def _standing(model: Model, point: Point) -> tuple[Ints, Ints]:
    """Holes where nobody stands; ranks that are leaderless; every slack but the seats'."""
    others = np.full(model.others.shape[1], LOWER)
    rows = np.full(model.rows, BASIC)
    rows[: len(model.arcs.seats)] = LOWER
    holes = model.hole[model.hole >= 0]
    others[holes[point.others[holes] > 0]] = BASIC
    free = model.leader_free
    others[model.leaderless[free]] = BASIC
    rows[model.leader_row[free]] = LOWER
    return others, rows
