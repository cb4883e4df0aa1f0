"""Numbers of a problem's rows, as the solver counts them, and their facts as arrays.

Spots, members and segments are each read once: what-ifs that leave them alone find them again.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from drill.lineup.core.kept import kept
from drill.lineup.core.problem import (
    MAX_MARCHED_PERCENT,
    MAX_STANDING,
    Lack,
    LineupProblem,
    Member,
    Part,
    Rank,
    Segment,
    Spot,
)

Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Places:
    """The spots in the order of their keys, with what they ask."""

    keys: tuple[str, ...]
    number: dict[str, int]
    ranks: dict[str, int]
    parts: dict[str, int]
    kinds: dict[str, int]
    """instruments"""
    rank: Ints
    part: Ints
    kind: Ints
    weight: Ints
    needs_experience: Bools


@dataclass(frozen=True)
class People:
    """The members in the order of their keys, with what they bring; -1 is none."""

    keys: tuple[str, ...]
    number: dict[str, int]
    holds: Ints
    rank: Ints
    standing: Ints
    standing_part: Ints
    """-1 for members who are no alternates"""
    experienced: Bools
    must_travel: Bools
    marched: Ints
    away: Bools
    """segment x member"""
    able: tuple[tuple[Ints, Bools], ...]
    """for each part the members who can play it, and who of them own the instrument"""
    lacks: tuple[tuple[int, Lack], ...]
    """members with what they lack"""


def read_places(problem: LineupProblem) -> Places:
    """The spots of a canonical problem."""
    return _places(problem.spots, problem.parts, problem.ranks)


def read_people(problem: LineupProblem) -> People:
    """The members of a canonical problem."""
    return _people(problem.members, problem.segments, read_places(problem))


def _numbers(keys: Iterable[str]) -> dict[str, int]:
    return {key: n for n, key in enumerate(keys)}


def _ints(values: Sequence[int]) -> Ints:
    return np.array(values, np.int64)


def runs(start: Ints, count: Ints) -> Ints:
    """The numbers of runs one after the other: ``count`` of them from each ``start`` on."""
    ends = np.cumsum(count)
    found: Ints = np.repeat(start - (ends - count), count) + np.arange(count.sum())
    return found


@kept(8)
def _places(spots: tuple[Spot, ...], parts: tuple[Part, ...], ranks: tuple[Rank, ...]) -> Places:
    rank = _numbers(sorted({s.rank for s in spots} | {r.key for r in ranks}))
    part = _numbers(p.key for p in parts)
    kind = _numbers(sorted({p.instrument for p in parts}))
    kind_of = _ints([kind[p.instrument] for p in parts])
    part_of = _ints([part[s.part] for s in spots])
    keys = tuple(s.key for s in spots)
    return Places(
        keys,
        _numbers(keys),
        rank,
        part,
        kind,
        _ints([rank[s.rank] for s in spots]),
        part_of,
        kind_of[part_of],
        _ints([s.weight for s in spots]),
        np.array([s.needs_experience for s in spots], np.bool_),
    )


@kept(8)
def _people(members: tuple[Member, ...], segments: tuple[Segment, ...], places: Places) -> People:
    spot, rank, part = places.number, places.ranks, places.parts
    marched = _ints([m.marched_percent for m in members])
    standing = _ints([MAX_STANDING if m.standing is None else m.standing for m in members])
    segment = _numbers(g.key for g in segments)
    away = np.zeros((len(segments), len(members)), np.bool_)
    for i, member in enumerate(members):
        for key in member.away:
            if key in segment:
                away[segment[key], i] = True
    keys = tuple(m.key for m in members)
    return People(
        keys,
        _numbers(keys),
        _ints([-1 if m.holds is None else spot.get(m.holds, -1) for m in members]),
        _ints([-1 if m.rank is None else rank.get(m.rank, -1) for m in members]),
        np.minimum(standing, MAX_STANDING),
        _ints([-1 if m.standing is None else part.get(m.standing_part or "", -1) for m in members]),
        np.array([m.experienced for m in members], np.bool_),
        np.array([m.must_travel for m in members], np.bool_),
        np.clip(marched, 0, MAX_MARCHED_PERCENT),
        away,
        _able(members, part),
        tuple((i, lack) for i, m in enumerate(members) for lack in m.lacks),
    )


def _able(members: tuple[Member, ...], part: dict[str, int]) -> tuple[tuple[Ints, Bools], ...]:
    found: list[dict[int, bool]] = [{} for _ in part]
    for i, member in enumerate(members):
        for skill in member.skills:
            if skill.part in part:
                owners = found[part[skill.part]]
                owners[i] = owners.get(i, False) or skill.own_instrument
    return tuple(
        (_ints(list(owners)), np.array(list(owners.values()), np.bool_)) for owners in found
    )
