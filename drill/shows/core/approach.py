"""How close two dots come to each other at the same moment of a move.

Two straight ways: seen from one, the other goes along a straight line, so the closest moment has
a closed form. A described way is straight from count to count, so the same form holds piece by
piece. Of an unknown way only its two ends are known.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from drill.shows.core.moves import Floats, Ints, Move, PathKind

Pair = tuple[int, int]
START, END = Fraction(0), Fraction(1)
BLOCK = 8192
"""pairs looked at together where ways have many pieces"""


@dataclass(frozen=True, slots=True)
class Contact:
    """Two rows of a move at their closest: the distance squared in units, and when, as a share
    of the move from 0 to 1 (the earliest such moment)."""

    first: int
    second: int
    squared: Fraction
    moment: Fraction


def contacts(move: Move, within: int, rows: Ints | None = None) -> Iterator[Contact]:
    """Every pair of rows that comes closer than ``within`` (units), exactly, in order."""
    chosen = np.arange(len(move.starts)) if rows is None else rows
    if within <= 0 or len(chosen) < 2:
        return
    first, second = _pairs(move, chosen, within)
    near = np.zeros(len(first), dtype=bool)
    rough = (within + 1) ** 2
    described = np.zeros(len(move.starts), dtype=bool)
    unknown = described.copy()
    for row in move.ways:
        described[row] = move.points(row) is not None
        unknown[row] = move.kind(row) is PathKind.UNKNOWN
    ends_only = unknown[first] | unknown[second]
    pieces = (described[first] | described[second]) & ~ends_only
    straight = ~pieces & ~ends_only
    near[straight] = _rough(move, first[straight], second[straight]) < rough
    near[ends_only] = _rough_ends(move, first[ends_only], second[ends_only]) < rough
    near[pieces] = _rough_pieces(move, first[pieces], second[pieces]) < rough
    found = sorted(zip(first[near].tolist(), second[near].tolist(), strict=True))
    for one, other in found:
        contact = exact_contact(move, one, other)
        if contact.squared < within**2:
            yield contact


def _pairs(move: Move, rows: Ints, within: int) -> tuple[Ints, Ints]:
    """Pairs whose boxes around their whole ways come closer than ``within``, swept from left to
    right; the smaller row first. Seen from somebody who goes along with the form most dots hardly
    move, so that their boxes are small."""
    along = np.median(move.ends[rows] - move.starts[rows], axis=0).astype(np.int64)
    ends = move.ends - along
    low, high = np.minimum(move.starts, ends), np.maximum(move.starts, ends)
    for row in move.ways:
        points = move.points(row)
        if points is not None:
            seen = points - np.linspace((0, 0), along, len(points))
            low[row] = np.minimum(low[row], np.floor(seen.min(axis=0)))
            high[row] = np.maximum(high[row], np.ceil(seen.max(axis=0)))
    order = rows[np.argsort(low[rows, 0], kind="stable")]
    left = low[order, 0]
    reach = np.searchsorted(left, high[order, 0] + within, side="left")
    count = reach - np.arange(len(order)) - 1
    one = np.repeat(np.arange(len(order)), count)
    start = np.repeat(np.cumsum(count) - count, count)
    other = one + 1 + np.arange(len(one)) - start
    a, b = order[one], order[other]
    keep = (low[a, 1] < high[b, 1] + within) & (low[b, 1] < high[a, 1] + within)
    a, b = a[keep], b[keep]
    return np.minimum(a, b), np.maximum(a, b)


def _dot(a: Floats, b: Floats) -> Floats:
    found: Floats = a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]
    return found


def _closest(r0: Floats, r1: Floats) -> Floats:
    """Smallest squared length on the way from r0 to r1, along the last axis."""
    v = r1 - r0
    a, b = _dot(v, v), _dot(r0, v)
    at_ends = np.minimum(_dot(r0, r0), _dot(r1, r1))
    cross = r0[..., 0] * v[..., 1] - r0[..., 1] * v[..., 0]
    passes = (b < 0) & (-b < a)
    found: Floats = np.where(passes, cross * cross / np.where(passes, a, 1), at_ends)
    return found


def _rough(move: Move, first: Ints, second: Ints) -> Floats:
    r0 = (move.starts[first] - move.starts[second]).astype(np.float64)
    r1 = (move.ends[first] - move.ends[second]).astype(np.float64)
    return _closest(r0, r1)


def _rough_ends(move: Move, first: Ints, second: Ints) -> Floats:
    r0 = (move.starts[first] - move.starts[second]).astype(np.float64)
    r1 = (move.ends[first] - move.ends[second]).astype(np.float64)
    found: Floats = np.minimum(_dot(r0, r0), _dot(r1, r1))
    return found


def _rough_pieces(move: Move, first: Ints, second: Ints) -> Floats:
    found = np.empty(len(first))
    if not len(first):
        return found
    used, where = np.unique(np.concatenate([first, second]), return_inverse=True)
    tracks = np.stack([_rough_track(move, row) for row in used.tolist()])
    a, b = where[: len(first)], where[len(first) :]
    for at in range(0, len(first), BLOCK):
        block = slice(at, at + BLOCK)
        apart = tracks[a[block]] - tracks[b[block]]
        found[block] = _closest(apart[:, :-1], apart[:, 1:]).min(axis=1)
    return found


def _rough_track(move: Move, row: int) -> Floats:
    points = move.points(row)
    track: Floats
    if points is not None:
        track = points.astype(np.float64)
        return track
    track = np.linspace(move.starts[row], move.ends[row], move.counts + 1)
    return track


def exact_contact(move: Move, first: int, second: int) -> Contact:
    """The closest moment of two rows in whole numbers; of unknown ways only the ends."""
    scale, apart = _apart(move, first, second)
    pieces = len(apart) - 1
    nearest = (
        _nearest_end if PathKind.UNKNOWN in (move.kind(first), move.kind(second)) else _nearest
    )
    squared, moment = nearest(apart[0], apart[1])
    for piece in range(1, pieces):
        other, share = nearest(apart[piece], apart[piece + 1])
        if other < squared:
            squared, moment = other, piece + share
    if scale > 1:
        squared, moment = squared / scale**2, moment / pieces
    return Contact(first, second, squared, moment)


def _apart(move: Move, first: int, second: int) -> tuple[int, list[Pair]]:
    """A scale and, times it, the second dot as seen from the first at every joint of the way."""
    unknown = PathKind.UNKNOWN in (move.kind(first), move.kind(second))
    described = move.points(first) is not None or move.points(second) is not None
    scale = move.counts if described and not unknown else 1
    one, other = (_track(move, row, scale) for row in (first, second))
    return scale, [(b[0] - a[0], b[1] - a[1]) for a, b in zip(one, other, strict=True)]


def _track(move: Move, row: int, pieces: int) -> list[Pair]:
    """Where the row's dot is at every joint, times the number of pieces, so that all are whole."""
    points = move.points(row)
    if points is not None and pieces == len(points) - 1:
        return [(x * pieces, y * pieces) for x, y in points.tolist()]
    (x0, y0), (x1, y1) = move.starts[row].tolist(), move.ends[row].tolist()
    return [(x0 * pieces + k * (x1 - x0), y0 * pieces + k * (y1 - y0)) for k in range(pieces + 1)]


def _nearest(r0: Pair, r1: Pair) -> tuple[Fraction, Fraction]:
    """The smallest squared length on the way from r0 to r1, and the share of it where it is."""
    vx, vy = r1[0] - r0[0], r1[1] - r0[1]
    a, b = vx * vx + vy * vy, r0[0] * vx + r0[1] * vy
    if b >= 0:
        return Fraction(r0[0] * r0[0] + r0[1] * r0[1]), START
    if -b >= a:
        return Fraction(r1[0] * r1[0] + r1[1] * r1[1]), END
    cross = r0[0] * vy - r0[1] * vx
    return Fraction(cross * cross, a), Fraction(-b, a)


def _nearest_end(r0: Pair, r1: Pair) -> tuple[Fraction, Fraction]:
    start, end = (r[0] * r[0] + r[1] * r[1] for r in (r0, r1))
    return (Fraction(start), START) if start <= end else (Fraction(end), END)
