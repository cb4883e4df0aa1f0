"""How far the sets of a spot are from those a member knows."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property

import numpy as np
import numpy.typing as npt

from drill.field.core.field import UNITS_PER_STEP

SHORT_MOVE = 2 * UNITS_PER_STEP
"""a shorter move has no direction worth the name"""

Floats = npt.NDArray[np.float64]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True)
class ShowDrill:
    """One show as arrays. ``points``: shape (dots, sets, 2), 1/32 inches, nan where a dot is
    missing. ``codes``: (dot, set index) -> the fundamentals of its described path."""

    dots: tuple[str, ...]
    sets: tuple[str, ...]
    points: Floats
    codes: Mapping[tuple[str, int], frozenset[str]] = field(default_factory=dict)

    @cached_property
    def row_of(self) -> dict[str, int]:
        return {dot: row for row, dot in enumerate(self.dots)}

    @cached_property
    def moves(self) -> Floats:
        """Shape (dots, sets, 2): how each dot gets to a set; nan for the first."""
        moves = np.full_like(self.points, np.nan)
        moves[:, 1:] = np.diff(self.points, axis=1)
        return moves


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What a member knows of a show: the dot they hold with its rank and part, and what they
    have practised elsewhere, dot -> set indices. ``passed`` is None where a band keeps no
    record of who has passed which fundamental."""

    rank: str | None
    part: str | None
    dot: str | None
    practised: Mapping[str, frozenset[int]] = field(default_factory=dict)
    passed: frozenset[str] | None = None


def gaps_of(
    drill: ShowDrill, knows: Knowledge, targets: Sequence[Target], rows: npt.NDArray[np.int_]
) -> tuple[Floats, Bools]:
    """Shape (targets, sets): the distance to the nearest known dot, and what is practised."""
    sets = len(drill.sets)
    done = np.zeros((len(targets), sets), bool)
    for row, target in enumerate(targets):
        done[row, _listed(drill, knows, target.dot)] = True
    gaps = np.full((len(targets), sets), np.nan)
    for _, seen in known_sets(drill, knows):
        gaps = np.fmin(gaps, np.hypot(*np.moveaxis(_of(drill.points, rows) - seen, -1, 0)))
    return gaps, done


def _listed(drill: ShowDrill, knows: Knowledge, dot: str) -> list[int]:
    return sorted(i for i in knows.practised.get(dot, ()) if i < len(drill.sets))


def known_sets(drill: ShowDrill, knows: Knowledge) -> list[tuple[str, Floats]]:
    """Each dot known, with its points in the sets in which it is; nan in the others."""
    found = []
    if knows.dot in drill.row_of:
        found.append((knows.dot, drill.points[drill.row_of[knows.dot]]))
    for dot in sorted(knows.practised.keys() & drill.row_of.keys()):
        seen = np.full((len(drill.sets), 2), np.nan)
        listed = _listed(drill, knows, dot)
        seen[listed] = drill.points[drill.row_of[dot], listed]
        found.append((dot, seen))
    return found


def _of(values: Floats, rows: npt.NDArray[np.int_]) -> Floats:
    """The rows of the targets; nan for dots that the show does not have."""
    if not len(values):
        return np.full((len(rows), *values.shape[1:]), np.nan)
    found = values[rows]
    found[rows < 0] = np.nan
    return found


def dots_there(drill: ShowDrill, rows: npt.NDArray[np.int_]) -> Bools:
    """The sets in which a dot stands; all of them where its coordinates are not known."""
    there = ~np.isnan(_of(drill.points, rows)[..., 0])
    there[~there.any(axis=1)] = True
    return there


def opposite_moves(drill: ShowDrill, knows: Knowledge, rows: npt.NDArray[np.int_]) -> Bools:
    """Where the target moves against the way of the dot the member holds."""
    if knows.dot not in drill.row_of:
        return np.zeros((len(rows), len(drill.sets)), bool)
    own, other = drill.moves[drill.row_of[knows.dot]], _of(drill.moves, rows)
    lengths, length = np.hypot(*np.moveaxis(other, -1, 0)), np.hypot(*own.T)
    long = (lengths >= SHORT_MOVE) & (length >= SHORT_MOVE)
    return np.asarray(long & ((other * own).sum(axis=-1) < -0.5 * lengths * length), bool)


def lacking_words(drill: ShowDrill, knows: Knowledge, dot: str) -> dict[int, tuple[str, ...]]:
    """Set index -> fundamentals of the dot's path that the member has not passed."""
    if knows.passed is None:
        return {}
    found = {i: codes - knows.passed for (p, i), codes in drill.codes.items() if p == dot}
    return {i: tuple(sorted(codes)) for i, codes in found.items() if codes}


@dataclass(frozen=True, slots=True)
class Target:
    """The spot in question."""

    rank: str
    part: str
    dot: str
