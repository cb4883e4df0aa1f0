"""Fitting: which piece of one kind each member gets.

Everybody who can be fitted is. Then, strictly in this order: spare pieces are left in every size
band, members keep the piece they had, alterations cost little, sizes that few others have are
kept, pieces sit close to what was measured, and good ones go first. All figures are whole ticks of
one unit (see ``sizes``).
"""

from __future__ import annotations

import hashlib
from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import IntEnum
from functools import cached_property

import numpy as np

from roster.equipment.core.assignment import Arcs, Ints, assign

FAR = 63
"""from here on a piece is as far off as any"""
TIE_BITS = 16
TIES = 1 << TIE_BITS


class Level(IntEnum):
    """What a fitting makes small, strictly in order."""

    UNFITTED = 0
    SPARES = 1
    OTHER_PIECE = 2
    ALTERATIONS = 3
    SCARCE = 4
    LOOSE = 5
    WORN = 6
    TIE = 7


@dataclass(frozen=True, slots=True)
class Window:
    """What a member's figure asks of a piece's: from ``low`` to ``high`` (both included) it fits
    as it is; ``ideal`` is best."""

    low: int
    high: int
    ideal: int


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of a kind: how far a piece can be let out and taken in, what that costs, and
    the smallest difference between sizes."""

    key: str
    let_out: int = 0
    take_in: int = 0
    cost: int = 0
    step: int = 1


@dataclass(frozen=True, slots=True)
class Wearer:
    """A member with a window for every figure of the kind; ``had`` are pieces they wore before.
    One who lacks a window is not measured, and is fitted with nothing."""

    key: str
    windows: Mapping[str, Window]
    had: frozenset[str] = frozenset()
    left_handed: bool = False


@dataclass(frozen=True, slots=True)
class Piece:
    """One numbered piece; ``band`` is the size band among which spares are kept, ``wear`` how
    worn it is (0 new to 3)."""

    key: str
    figures: Mapping[str, int]
    band: str = ""
    wear: int = 0
    left_handed: bool = False


@dataclass(frozen=True)
class FittingProblem:
    """Members without a piece of the kind, and the pieces in store. ``spares`` are wanted in each
    band; ``handed`` kinds come for either hand."""

    figures: tuple[Figure, ...]
    wearers: tuple[Wearer, ...]
    pieces: tuple[Piece, ...]
    spares: int = 0
    handed: bool = False

    @cached_property
    def of_wearer(self) -> dict[str, Wearer]:
        return {w.key: w for w in self.wearers}

    @cached_property
    def of_piece(self) -> dict[str, Piece]:
        return {p.key: p for p in self.pieces}

    @cached_property
    def unaltered(self) -> FittingProblem:
        """The same where nothing is altered."""
        return replace(self, figures=tuple(replace(f, let_out=0, take_in=0) for f in self.figures))


@dataclass(frozen=True, slots=True)
class Alteration:
    """A figure of a piece made larger (or smaller, below 0)."""

    figure: str
    by: int


@dataclass(frozen=True, slots=True)
class Fit:
    """How a piece fits: what has to be altered, what that costs, how far it is from ideal (what is
    altered counts too)."""

    alterations: tuple[Alteration, ...]
    cost: int
    off: int


@dataclass(frozen=True, slots=True)
class Given:
    """A member's piece."""

    wearer: str
    piece: str
    fit: Fit


@dataclass(frozen=True, slots=True)
class Nearest:
    """The piece that misses least, and by how much each figure is too small (below 0: large)."""

    piece: str
    misses: tuple[Alteration, ...]


@dataclass(frozen=True, slots=True)
class Unfitted:
    """A member for whom nothing is left: the size to buy, figure by figure, and the nearest piece
    there is. ``unmeasured`` figures have to be taken first."""

    wearer: str
    unmeasured: tuple[str, ...] = ()
    buy: tuple[tuple[str, int], ...] = ()
    nearest: Nearest | None = None


@dataclass(frozen=True)
class Fitting:
    """Who gets what, who gets nothing, and what each level costs."""

    given: tuple[Given, ...]
    unfitted: tuple[Unfitted, ...]
    levels: tuple[int, ...]
    by_wearer: dict[str, str] = field(default_factory=dict)


def fit_of(problem: FittingProblem, wearer: Wearer, piece: Piece) -> Fit | None:
    """How the piece fits, None where it cannot."""
    if problem.handed and wearer.left_handed != piece.left_handed:
        return None
    altered, cost, off = [], 0, 0
    for figure in problem.figures:
        window, size = wearer.windows.get(figure.key), piece.figures.get(figure.key)
        if window is None or size is None:
            return None
        after = min(max(size, window.low), window.high)
        if after - size > figure.let_out or size - after > figure.take_in:
            return None
        if after != size:
            altered.append(Alteration(figure.key, after - size))
            cost += figure.cost
        off += abs(after - window.ideal) + abs(after - size)
    return Fit(tuple(altered), cost, off)


def fit_all(problem: FittingProblem) -> Fitting:
    """The best fitting; equal problems, in any order of rows, give equal answers."""
    wearers = sorted(problem.wearers, key=lambda w: w.key)
    pieces = sorted(problem.pieces, key=lambda p: p.key)
    pairs = _pairs(problem, wearers, pieces)
    wanted = _wanted_spares(problem, pieces)
    arcs, levels = _model(problem, wearers, pieces, pairs, wanted)
    chosen, costs = (
        assign(arcs, levels) if arcs.rows else (np.zeros(0, np.int64), (0,) * len(Level))
    )
    given, left = [], []
    for n, arc in enumerate(chosen[: len(wearers)].tolist()):
        column = int(arcs.column[arc])
        if column < len(pieces):
            fit = fit_of(problem, wearers[n], pieces[column])
            assert fit is not None, "only pairs that fit are matched"
            given.append(Given(wearers[n].key, pieces[column].key, fit))
        else:
            left.append(_unfitted(problem, wearers[n], pieces))
    return Fitting(tuple(given), tuple(left), costs, {g.wearer: g.piece for g in given})


@dataclass(frozen=True)
class _Pairs:
    """Who fits what: the wearer, the piece, and how, one entry a pair."""

    wearer: Ints
    piece: Ints
    cost: Ints
    off: Ints


def _pairs(problem: FittingProblem, wearers: Sequence[Wearer], pieces: Sequence[Piece]) -> _Pairs:
    """``fit_of`` for all pairs at once."""
    shape = (len(wearers), len(pieces))
    fits = np.ones(shape, np.bool_)
    cost, off = np.zeros(shape, np.int64), np.zeros(shape, np.int64)
    if problem.handed:
        left = np.array([w.left_handed for w in wearers], np.bool_)
        fits &= left[:, None] == np.array([p.left_handed for p in pieces], np.bool_)[None, :]
    for figure in problem.figures:
        windows = [w.windows.get(figure.key) for w in wearers]
        low, high, ideal = (
            np.array([0 if w is None else getattr(w, name) for w in windows], np.int64)[:, None]
            for name in ("low", "high", "ideal")
        )
        sizes = [p.figures.get(figure.key) for p in pieces]
        size = np.array([0 if s is None else s for s in sizes], np.int64)[None, :]
        known = np.array([w is not None for w in windows], np.bool_)[:, None]
        fits &= known & np.array([s is not None for s in sizes], np.bool_)[None, :]
        after = np.clip(size, low, high)
        fits &= (after - size <= figure.let_out) & (size - after <= figure.take_in)
        cost += np.where(after != size, figure.cost, 0)
        off += np.abs(after - ideal) + np.abs(after - size)
    wearer, piece = np.nonzero(fits)
    return _Pairs(wearer, piece, cost[wearer, piece], off[wearer, piece])


def _wanted_spares(problem: FittingProblem, pieces: Sequence[Piece]) -> list[str]:
    """A band for each spare that is wanted in it, as far as it has pieces."""
    there = Counter(p.band for p in pieces)
    return [band for band in sorted(there) for _ in range(min(problem.spares, there[band]))]


def _model(
    problem: FittingProblem,
    wearers: Sequence[Wearer],
    pieces: Sequence[Piece],
    pairs: _Pairs,
    wanted: Sequence[str],
) -> tuple[Arcs, list[Ints]]:
    """Rows are the wearers, then the spares wanted, which "wear" any piece of their band; columns
    are the pieces, then one for each row that gets none."""
    of_band: dict[str, list[int]] = defaultdict(list)
    for n, piece in enumerate(pieces):
        of_band[piece.band].append(n)
    first, rows = len(wearers), len(wearers) + len(wanted)
    spare = [(first + n, piece) for n, band in enumerate(wanted) for piece in of_band[band]]
    spare_row, spare_piece = (np.array([s[k] for s in spare], np.int64) for k in (0, 1))
    none = np.arange(rows)
    arcs = Arcs(
        rows,
        len(pieces) + rows,
        np.concatenate([pairs.wearer, spare_row, none]),
        np.concatenate([pairs.piece, spare_piece, len(pieces) + none]),
    )
    after = np.zeros(len(spare) + rows, np.int64)
    nothing = np.zeros(len(pairs.wearer) + len(spare), np.int64)
    is_wearer = (none < first).astype(np.int64)
    costs = _pair_costs(wearers, pieces, pairs)
    levels = [np.append(costs[level], after) for level in Level if level > Level.SPARES]
    return arcs, [np.append(nothing, is_wearer), np.append(nothing, 1 - is_wearer), *levels]


def _pair_costs(
    wearers: Sequence[Wearer], pieces: Sequence[Piece], pairs: _Pairs
) -> dict[Level, Ints]:
    keys = [p.key for p in pieces]
    here = set(keys)
    had = [w.had & here for w in wearers]
    both = list(zip(pairs.wearer.tolist(), pairs.piece.tolist(), strict=True))
    in_band = Counter(p.band for p in pieces)
    few = np.array([FAR - min(FAR, in_band[p.band]) for p in pieces], np.int64)
    wear = np.array([p.wear for p in pieces], np.int64)
    return {
        Level.OTHER_PIECE: np.array(
            [had[w] and keys[p] not in had[w] for w, p in both], np.bool_
        ).astype(np.int64),
        Level.ALTERATIONS: pairs.cost,
        Level.SCARCE: few[pairs.piece],
        Level.LOOSE: np.minimum(pairs.off, FAR),
        Level.WORN: wear[pairs.piece],
        Level.TIE: _ties(wearers, pieces, pairs),
    }


def _ties(wearers: Sequence[Wearer], pieces: Sequence[Piece], pairs: _Pairs) -> Ints:
    """A number below ``TIES`` for each pair, from the two keys alone: a multiply-and-shift hash of
    their digests."""
    who = np.array([_digest(w.key) for w in wearers], np.uint64)[pairs.wearer]
    what = np.array([_digest(p.key) for p in pieces], np.uint64)[pairs.piece]
    mixed = (who * np.uint64(0x9E3779B97F4A7C15) + what) * np.uint64(0xD1B54A32D192ED03)
    return (mixed >> np.uint64(64 - TIE_BITS)).astype(np.int64)


def _digest(key: str) -> int:
    return int.from_bytes(hashlib.blake2b(key.encode(), digest_size=8).digest(), "big")


def _unfitted(problem: FittingProblem, wearer: Wearer, pieces: Sequence[Piece]) -> Unfitted:
    unmeasured = tuple(f.key for f in problem.figures if f.key not in wearer.windows)
    if unmeasured:
        return Unfitted(wearer.key, unmeasured)
    buy = tuple((f.key, _to_buy(wearer.windows[f.key], f.step)) for f in problem.figures)
    return Unfitted(wearer.key, (), buy, nearest(problem, wearer, pieces))


def _to_buy(window: Window, step: int) -> int:
    """The size of the steps that is nearest to ideal, within the window if one is."""
    sizes = [window.ideal // step * step, -(-window.ideal // step) * step]
    inside = [s for s in sizes if window.low <= s <= window.high]
    return min(inside or sizes, key=lambda s: (abs(s - window.ideal), s))


def nearest(problem: FittingProblem, wearer: Wearer, pieces: Sequence[Piece]) -> Nearest | None:
    """The piece that misses least; one that would fit, but is somebody's, misses nothing."""
    found: list[tuple[int, str, tuple[Alteration, ...]]] = []
    for piece in pieces:
        if problem.handed and piece.left_handed != wearer.left_handed:
            continue
        misses = []
        for figure in problem.figures:
            size, window = piece.figures.get(figure.key), wearer.windows.get(figure.key)
            if size is None or window is None:
                break
            by = min(max(size, window.low), window.high) - size
            if by:
                misses.append(Alteration(figure.key, by))
        else:
            found.append((sum(abs(m.by) for m in misses), piece.key, tuple(misses)))
    if not found:
        return None
    _, key, short = min(found)
    return Nearest(key, short)


def who_fits(problem: FittingProblem) -> dict[str, list[str]]:
    """Member -> the pieces they could wear."""
    wearers, pieces = list(problem.wearers), list(problem.pieces)
    pairs = _pairs(problem, wearers, pieces)
    found: dict[str, list[str]] = {w.key: [] for w in wearers}
    for w, p in zip(pairs.wearer.tolist(), pairs.piece.tolist(), strict=True):
        found[wearers[w].key].append(pieces[p].key)
    return found
