"""What each member costs on each seat, level by level."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from drill.lineup.core.lessons import Lessons
from drill.lineup.core.level_values import (
    BACKUP_CLASS_SIZE,
    MOVED_ACROSS,
    MOVED_OFF,
    MOVED_WITHIN,
    OTHER_CLASS,
    OWN_POOL_CLASS,
)
from drill.lineup.core.problem import (
    MAX_BACKUP_ORDER,
    MAX_RELEARNING,
    Backup,
    Level,
    Pool,
    Seat,
    Settings,
)
from drill.lineup.core.solver.index import Bools, Ints, People, Places


def home_spots(
    places: Places,
    people: People,
    segments: dict[str, int],
    seats: dict[Seat, int],
    reference: tuple[tuple[Seat, str], ...],
) -> Ints:
    """(segment, member) -> the spot of the reference where they may stay, or -1."""
    home = np.full((len(segments), max(len(people.keys), 1)), -1, np.int64)
    rows = [
        (segments[seat[0]], people.number[key], places.number[seat[1]])
        for seat, key in reference
        if seat in seats and key in people.number
    ]
    if rows:
        segment, member, spot = np.array(rows, np.int64).T
        here = ~people.away[segment, member]
        home[segment[here], member[here]] = spot[here]
    return home


def moved_costs(
    places: Places, home: Ints, member: Ints, segment: Ints, spot: Ints
) -> tuple[Ints, Bools]:
    """Each arc's cost of moving somebody, and which arcs stay."""
    if not len(member):
        return member, np.zeros(0, np.bool_)
    at_home = home[segment, member]
    stays = at_home == spot
    same = places.rank[at_home] == places.rank[spot]
    elsewhere = np.where(same, MOVED_WITHIN, MOVED_ACROSS) - MOVED_OFF
    costs = np.where(at_home < 0, 0, np.where(stays, -MOVED_OFF, elsewhere))
    return costs.astype(np.int64), stays


def standing_levels(
    places: Places,
    people: People,
    member: Ints,
    spot: Ints,
    backups: tuple[Backup, ...],
    relearning: Lessons,
    settings: Settings,
) -> dict[Level, Ints]:
    """Each arc's value on the levels of standing, relearning and fairness."""
    if not len(member):
        return dict.fromkeys((Level.STANDING, Level.RELEARNING, Level.FAIRNESS), member)
    fair, width = settings.fairness_before_standing, len(places.keys)
    within, last = people.standing, people.marched
    if fair:
        within, last = last, within
    own = people.standing_part[member] == places.part[spot]
    if settings.pool is Pool.RANK:
        own &= people.rank[member] == places.rank[spot]
    others = OTHER_CLASS * BACKUP_CLASS_SIZE
    rung = np.where(own, OWN_POOL_CLASS * BACKUP_CLASS_SIZE + within[member], others)
    pair = member * width + spot
    order = _backup_orders(places, people, backups)[pair].astype(np.int64)
    rung = np.where(order > 0, order * BACKUP_CLASS_SIZE, rung)
    elsewhere = people.holds[member] != spot
    lessons = _lessons(places, people, relearning)[pair].astype(np.int64)
    return {
        Level.STANDING: rung * elsewhere,
        Level.RELEARNING: lessons * elsewhere,
        Level.FAIRNESS: last[member] * elsewhere,
    }


def _backup_orders(
    places: Places, people: People, backups: tuple[Backup, ...]
) -> npt.NDArray[np.int8]:
    """The order of every pair of member and spot as one long row, 0 of those not named."""
    width = len(places.keys)
    out = np.zeros(width * len(people.keys), np.int8)
    rows = [
        (people.number[b.member] * width + places.number[b.spot], b.order)
        for b in backups
        if b.member in people.number and b.spot in places.number
    ]
    if rows:
        pair, order = np.array(rows, np.int64).T
        worst_first = np.argsort(-order, kind="stable")
        out[pair[worst_first]] = np.minimum(order[worst_first], MAX_BACKUP_ORDER)
    return out


def _lessons(places: Places, people: People, relearning: Lessons) -> npt.NDArray[np.uint8]:
    """The cost of every pair of member and spot as one long row."""
    width = len(places.keys)
    out = np.zeros(width * len(people.keys), np.uint8)
    if not len(relearning):
        return out
    member = np.array([people.number.get(key, -1) for key in relearning.members], np.int64)
    spot = np.array([places.number.get(key, -1) for key in relearning.spots], np.int64)
    at, to = member[relearning.member], spot[relearning.spot]
    known = (at >= 0) & (to >= 0)
    out[at[known] * width + to[known]] = np.minimum(relearning.cost[known], MAX_RELEARNING)
    return out
