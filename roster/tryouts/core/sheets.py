"""The sheet check, before any average: what is likely a slip of the pen and not a judgment.

Evidence comes from the other evaluators: what they gave a candidate, each freed of their own
offset. An exchange or a shift is named when the marks fit at least twenty times better than where
they stand, over all that could have been tried on that sheet.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from roster.tryouts.core.looks import Bools, Floats, Ints, Looks, Marks, Scale

ODDS = 20.0
SHORTEST_RUN = 5
"""looks in a row with the same marks, from which it is called a straight line"""
SHORTEST_SHIFT = 4
MOST_FINDINGS = 30
"""slips that are looked for at once; more mean that something else is wrong"""
SMALLEST_SPREAD = 1.0
"""percent: evaluators who agree to the last point are not taken as a yardstick"""


@dataclass(frozen=True, slots=True)
class Missing:
    """A look without a word about a criterion."""

    look: int
    criterion: int


@dataclass(frozen=True, slots=True)
class OffScale:
    look: int
    criterion: int
    value: float


@dataclass(frozen=True, slots=True)
class Twice:
    """Looks of one evaluator at one candidate in one session."""

    looks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class StraightLine:
    """Looks one after another in which an evaluator gave the very same marks."""

    looks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Exchanged:
    """Two looks of one sheet whose marks fit the other one's candidate; ``odds`` to one."""

    first: int
    second: int
    odds: float


@dataclass(frozen=True, slots=True)
class Shifted:
    """Looks of one sheet whose marks fit the candidate ``by`` rows further down; ``odds`` to
    one."""

    looks: tuple[int, ...]
    by: int
    odds: float


Finding = Missing | OffScale | Twice | StraightLine | Exchanged | Shifted


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """One evaluator's looks of one session in the order they were written, as rows of Looks."""

    rows: Ints


def plain_findings(
    scales: Sequence[Scale], marks: Marks, looks: Looks, not_seen: set[tuple[int, int]]
) -> list[Finding]:
    """What is missing, off the scale or there twice. ``not_seen``: (look, criterion) that the
    evaluator said they did not see."""
    given = set(zip(marks.look.tolist(), marks.criterion.tolist(), strict=True)) | not_seen
    found: list[Finding] = [
        Missing(look, criterion)
        for look in range(looks.candidate.size)
        for criterion in range(len(scales))
        if (look, criterion) not in given
    ]
    for look, criterion, value in zip(
        marks.look.tolist(), marks.criterion.tolist(), marks.value.tolist(), strict=True
    ):
        if not scales[criterion].bottom <= value <= scales[criterion].top:
            found.append(OffScale(look, criterion, value))
    keys = list(
        zip(looks.candidate.tolist(), looks.evaluator.tolist(), looks.session.tolist(), strict=True)
    )
    for key, count in Counter(keys).items():
        if count > 1:
            found.append(Twice(tuple(i for i, k in enumerate(keys) if k == key)))
    return found


def straight_lines(marks: Marks, sheets: Sequence[Sheet]) -> list[StraightLine]:
    """Runs of the very same marks, of looks with at least two marks each."""
    by_look: dict[int, list[tuple[int, float]]] = {}
    for look, criterion, value in zip(
        marks.look.tolist(), marks.criterion.tolist(), marks.value.tolist(), strict=True
    ):
        by_look.setdefault(look, []).append((criterion, value))
    found = []
    for sheet in sheets:
        run: list[int] = []
        for row in [*sheet.rows.tolist(), None]:
            same = row is not None and run and _same(by_look.get(row), by_look.get(run[-1]))
            if not same:
                if len(run) >= SHORTEST_RUN:
                    found.append(StraightLine(tuple(run)))
                run = []
            if row is not None:
                run.append(row)
    return found


def _same(a: list[tuple[int, float]] | None, b: list[tuple[int, float]] | None) -> bool:
    return a is not None and b is not None and len(a) > 1 and sorted(a) == sorted(b)


def misplaced(looks: Looks, sheets: Sequence[Sheet]) -> list[Exchanged | Shifted]:
    """Marks that stand under a wrong number; ``figure`` of looks has no nan.

    The likeliest finding is taken, its marks are put where they belong, and then it is looked
    again, so that a slip does not accuse those who marked the same candidates.
    """
    found: list[Exchanged | Shifted] = []
    left, known = looks, np.ones(looks.figure.size, dtype=bool)
    while len(found) < MOST_FINDINGS:
        best = max(_findings(left, known, sheets), key=lambda it: it[0], default=None)
        if best is None:
            break
        found.append(best[1])
        left, known = _undone(left, known, best[1])
    return found


def _undone(looks: Looks, known: Bools, it: Exchanged | Shifted) -> tuple[Looks, Bools]:
    """The looks without a slip: exchanged figures where they belong, shifted ones not counted."""
    figure, kept = looks.figure.copy(), known.copy()
    if isinstance(it, Exchanged):
        figure[[it.first, it.second]] = figure[[it.second, it.first]]
    else:
        kept[list(it.looks)] = False
    return replace(looks, figure=figure), kept


def _findings(
    looks: Looks, counting: Bools, sheets: Sequence[Sheet]
) -> list[tuple[float, Exchanged | Shifted]]:
    """The likeliest finding of each sheet with its log odds."""
    others, known = _by_others(looks, counting)
    away = looks.figure - others
    for sheet in sheets:
        rows = sheet.rows[known[sheet.rows]]
        if rows.size:
            away[rows] -= np.median(away[rows])
    if not known.any():
        return []
    spread = max(SMALLEST_SPREAD, 1.4826 * float(np.median(np.abs(away[known]))))
    found: list[tuple[float, Exchanged | Shifted]] = []
    for sheet in sheets:
        rows = sheet.rows[known[sheet.rows]]
        for look_for in (_shift, _exchange):
            it = look_for(away[rows], others[rows], rows, spread)
            if it is not None:
                found.append(it)
    return found


def _by_others(looks: Looks, counting: Bools) -> tuple[Floats, Bools]:
    """For each look what the other evaluators think of its candidate, freed of their offsets, and
    whether there is another at all. Offsets are taken from medians, which a slip moves little."""
    n = looks.figure.size
    who, by, figure = looks.candidate[counting], looks.evaluator[counting], looks.figure[counting]
    offset = np.zeros(looks.evaluators)
    for _ in range(10):
        typical = _medians(who, figure - offset[by], looks.candidates)
        offset = _medians(by, figure - typical[who], looks.evaluators)
    others, known = np.zeros(n), np.zeros(n, dtype=bool)
    freed = looks.figure - offset[looks.evaluator]
    by_candidate: list[list[int]] = [[] for _ in range(looks.candidates)]
    for row in np.flatnonzero(counting).tolist():
        by_candidate[looks.candidate[row]].append(row)
    for row in np.flatnonzero(counting).tolist():
        own = looks.evaluator[row]
        rest = [r for r in by_candidate[looks.candidate[row]] if looks.evaluator[r] != own]
        known[row] = bool(rest)
        others[row] = freed[rest].mean() if rest else 0.0
    return others, known


def _medians(group: Ints, value: Floats, groups: int) -> Floats:
    """The median of each group's values (groups,), 0 without any."""
    ordered = value[np.lexsort((value, group))]
    count = np.bincount(group, minlength=groups)
    start = np.cumsum(count) - count
    found, some = np.zeros(groups), count > 0
    low, high = (start + (count - 1) // 2)[some], (start + count // 2)[some]
    found[some] = (ordered[low] + ordered[high]) / 2
    return found


def _exchange(
    away: Floats, others: Floats, rows: Ints, spread: float
) -> tuple[float, Exchanged] | None:
    """The likeliest exchange of a sheet."""
    if rows.size < 2:
        return None
    figure = away + others
    crossed = figure[:, None] - others[None, :]
    gain = (away**2)[:, None] + (away**2)[None, :] - crossed**2 - crossed.T**2
    log_odds = np.triu(gain / (2 * spread**2), 1) - np.log(rows.size * (rows.size - 1) / 2)
    fits = np.maximum(np.abs(crossed), np.abs(crossed.T)) <= 2.5 * spread
    log_odds[~fits] = -np.inf
    a, b = np.unravel_index(int(np.argmax(log_odds)), log_odds.shape)
    best = float(log_odds[a, b])
    if best < np.log(ODDS):
        return None
    return best, Exchanged(int(rows[a]), int(rows[b]), float(np.exp(min(best, 20.0))))


def _shift(away: Floats, others: Floats, rows: Ints, spread: float) -> tuple[float, Shifted] | None:
    """The likeliest run of rows whose marks belong a row further down, or up."""
    best: tuple[float, Shifted] | None = None
    least = np.log(ODDS)
    figure = away + others
    for by in (1, -1):
        if rows.size < SHORTEST_SHIFT + 1:
            continue
        own = np.arange(rows.size - 1) if by == 1 else np.arange(1, rows.size)
        moved = figure[own] - others[own + by]
        gains = (away[own] ** 2 - moved**2) / (2 * spread**2)
        sums = np.concatenate([[0.0], np.cumsum(gains)])
        squares = np.concatenate([[0.0], np.cumsum(moved**2)])
        for start in range(own.size):
            for end in range(start + SHORTEST_SHIFT, own.size + 1):
                log_odds = sums[end] - sums[start] - np.log(rows.size**2)
                left = (squares[end] - squares[start]) / (end - start)
                if log_odds > least and left <= 3 * spread**2:
                    least = float(log_odds)
                    run = tuple(int(i) for i in rows[own[start:end]])
                    best = (least, Shifted(run, by, float(np.exp(min(least, 20.0)))))
    return best
