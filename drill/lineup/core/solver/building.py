"""The linear model of a problem, row by row."""

from __future__ import annotations

import numpy as np

from drill.lineup.core.problem import LineupProblem
from drill.lineup.core.solver.arcs import Arcs, build_arcs
from drill.lineup.core.solver.index import Bools, Ints
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.rows import AT_LEAST, AT_MOST, EQUAL, NO_ROW, Family, Rows
from drill.lineup.core.solver.wardrobe import add_wardrobe


def build_model(problem: LineupProblem) -> Model:
    """The model of a canonical problem without faults among its pins."""
    arcs = build_arcs(problem)
    rows, pinned = Rows(), arcs.seat_pinned
    hole = np.where(pinned, NO_ROW, np.cumsum(~pinned) - 1)
    seats = rows.open(len(arcs.seats), EQUAL, 1)
    rows.put(seats[~pinned], hole[~pinned], 1)
    families = [Family(arcs.seat)]
    others = int((~pinned).sum())
    leader_row, led, leader_free = _add_leaders(rows, problem, arcs)
    leaderless = np.arange(others, others + len(leader_row))
    rows.put(leader_row, leaderless, 1)
    others += len(leader_row)
    limited = problem.travel_limit is not None
    node, node_member = _nodes(arcs)
    traveller_of = _several(arcs, node_member) if limited else np.full(len(arcs.people.keys), -1)
    traveller = np.arange(others, others + int(traveller_of.max(initial=-1)) + 1)
    node_row = _add_members(rows, node_member, traveller, traveller_of)
    families.append(Family(node_row[node]))
    if not leader_free.all():
        families.append(Family(led))
    limits: dict[str, Ints] = {}
    traveller_row = rows.open(len(traveller), AT_MOST, 1)
    rows.put(traveller_row, traveller, 1)
    if problem.travel_limit is not None:
        limits[""] = _add_travel(rows, arcs, problem.travel_limit, traveller)
        families.append(Family(_travels(arcs, traveller_of, int(limits[""][0]))))
    stock, borrowed = _add_stock(rows, problem, arcs)
    if stock:
        families.append(Family(borrowed))
    others += len(traveller)
    wardrobe = add_wardrobe(rows, families, problem, arcs, others)
    others += 0 if wardrobe is None else len(wardrobe.column)
    if problem.max_moved is not None:
        families.append(Family(_add_moved(rows, arcs, problem.max_moved)))
    return Model(
        problem,
        arcs,
        tuple(families),
        rows.matrix(others),
        np.array(rows.sense, np.int64),
        np.array(rows.limit, np.int64),
        hole,
        leaderless,
        traveller,
        traveller_of,
        node,
        node_row,
        node_member,
        traveller_row,
        limits | stock,
        leader_row,
        leader_free,
        wardrobe=wardrobe,
    )


def _add_leaders(rows: Rows, problem: LineupProblem, arcs: Arcs) -> tuple[Ints, Ints, Bools]:
    """A row for each segment and rank that has leaders and seats there: the rows, each arc's, and
    which of them no arc can meet."""
    places, people = arcs.places, arcs.people
    ranks, segments = len(places.ranks), len(problem.segments)
    seat_rank = places.rank[arcs.seat_spot] if len(arcs.seats) else arcs.seat_spot
    key = arcs.seat_segment * ranks + seat_rank
    wanted = np.zeros(segments * ranks, np.bool_)
    wanted[key] = True
    has_leaders = np.zeros(ranks, np.bool_)
    has_leaders[[places.ranks[r.key] for r in problem.ranks if r.leaders]] = True
    wanted &= np.tile(has_leaders, segments)
    numbers = np.full(segments * ranks, NO_ROW)
    row = rows.open(int(wanted.sum()), AT_LEAST, 1)
    numbers[wanted] = row
    width = max(len(people.keys), 1)
    leads = [
        places.ranks[r.key] * width + people.number[k]
        for r in problem.ranks
        for k in r.leaders
        if k in people.number
    ]
    leader = np.zeros(width, np.bool_)
    leader[np.array(leads, np.int64) % width] = True
    some = np.flatnonzero(leader[arcs.member])
    own = np.isin(seat_rank[arcs.seat[some]] * width + arcs.member[some], leads)
    led = np.full(arcs.size, NO_ROW)
    led[some[own]] = numbers[key[arcs.seat[some[own]]]]
    met = np.zeros(len(rows.sense), np.bool_)
    met[led[some[own]]] = True
    return row, led, ~met[row]


def _nodes(arcs: Arcs) -> tuple[Ints, Ints]:
    """The pairs of segment and member that have an arc: each arc's, and each one's member."""
    people = max(len(arcs.people.keys), 1)
    key = arcs.seat_segment[arcs.seat] * people + arcs.member if arcs.size else arcs.member
    there = np.bincount(key, minlength=0) > 0
    return (np.cumsum(there) - 1)[key], np.flatnonzero(there) % people


def _several(arcs: Arcs, node_member: Ints) -> Ints:
    """A number for each member who has several nodes and need not travel anyway, else -1."""
    count = np.bincount(node_member, minlength=len(arcs.people.keys))
    several = (count > 1) & ~arcs.people.must_travel
    return np.where(several, np.cumsum(several) - 1, -1)


def _add_members(rows: Rows, node_member: Ints, traveller: Ints, traveller_of: Ints) -> Ints:
    """One row a node: nobody marches twice, nor without travelling."""
    row = rows.open(len(node_member), AT_MOST, 1)
    of = traveller_of[node_member] if len(node_member) else node_member
    coupled = of >= 0
    for number in row[coupled].tolist():
        rows.limit[number] = 0
    rows.put(row[coupled], traveller[of[coupled]], -1)
    return row


def _add_travel(rows: Rows, arcs: Arcs, most: int, traveller: Ints) -> Ints:
    """The travel limit, but for those who travel in any case."""
    limit = rows.open(1, AT_MOST, most - int(arcs.people.must_travel.sum()))
    rows.put(np.repeat(limit, len(traveller)), traveller, 1)
    return limit


def _travels(arcs: Arcs, traveller_of: Ints, row: int) -> Ints:
    """Arcs that need a place to travel of their own: where one node alone decides."""
    own = (traveller_of < 0) & ~arcs.people.must_travel
    return np.where(own[arcs.member], row, NO_ROW) if arcs.size else arcs.member


def _add_stock(rows: Rows, problem: LineupProblem, arcs: Arcs) -> tuple[dict[str, Ints], Ints]:
    """A row for each counted instrument and segment that more could take than there are."""
    kinds, segments = arcs.places.kinds, len(problem.segments)
    borrowed = np.full(arcs.size, NO_ROW)
    takes = np.flatnonzero(arcs.takes_stock)
    if not len(takes):
        return {}, borrowed
    seat = arcs.seat[takes]
    key = arcs.places.kind[arcs.seat_spot[seat]] * segments + arcs.seat_segment[seat]
    users = np.bincount(key, minlength=len(kinds) * segments)
    numbers = np.full(len(kinds) * segments, NO_ROW)
    found: dict[str, Ints] = {}
    for kind, count in dict(problem.stock).items():
        first = kinds.get(kind, len(kinds)) * segments
        short = first + np.flatnonzero(users[first : first + segments] > count)
        if len(short):
            found[kind] = numbers[short] = rows.open(len(short), AT_MOST, count)
    borrowed[takes] = numbers[key]
    return found, borrowed


def _add_moved(rows: Rows, arcs: Arcs, most: int) -> Ints:
    """A row for each segment: how many of those who could stay do."""
    row = np.concatenate(
        [rows.open(1, AT_LEAST, count - most) for count in arcs.reference_count.tolist()]
    )
    stays = np.full(arcs.size, NO_ROW)
    stays[arcs.stays] = row[arcs.seat_segment[arcs.seat[arcs.stays]]]
    return stays
