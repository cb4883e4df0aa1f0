"""What differs between two versions of a show, dot by dot.

Sets are matched by their pictures, not by their labels: of all ways to match them in order, the
one whose pictures agree most. So an inserted set is an inserted set, and the sets after it are
renumbered, not moved.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from drill.field.core.field import UNITS_PER_STEP
from drill.shows.core.moves import Floats
from drill.shows.core.version_changes import Comparison, DotMove, Pair, Picture

UNLIKE = 8 * UNITS_PER_STEP
"""a dot this far off says nothing for two pictures being the same"""
HALF = 0.5
"""pictures that agree by less than this are not matched by themselves"""


def compare(before: Sequence[Picture], after: Sequence[Picture]) -> Comparison:
    """Match the sets of two versions and say what differs."""
    pairs = align(before, after)
    differing: list[DotMove] = []
    added: list[tuple[int, str]] = []
    gone: list[tuple[int, str]] = []
    for index, pair in enumerate(pairs):
        if pair.before is None or pair.after is None:
            continue
        old, new = before[pair.before].at, after[pair.after].at
        added += [(index, dot) for dot in sorted(new.keys() - old.keys())]
        gone += [(index, dot) for dot in sorted(old.keys() - new.keys())]
        differing += [
            DotMove(index, dot, old[dot], new[dot])
            for dot in sorted(old.keys() & new.keys())
            if old[dot] != new[dot]
        ]
    return Comparison(
        tuple(before), tuple(after), pairs, tuple(differing), tuple(added), tuple(gone)
    )


def align(before: Sequence[Picture], after: Sequence[Picture]) -> tuple[Pair, ...]:
    """Match sets in order: pictures that agree first; then, between those, equal labels."""
    worth = likeness(before, after) - HALF
    labels = np.array([[plain(a.label) == plain(b.label) for b in after] for a in before])
    if worth.size:
        # Among pictures that are alike, the one of the same label.
        worth = worth + labels.reshape(worth.shape) / 1000
    anchors = _best_chain(worth)
    pairs: list[Pair] = []
    at = (0, 0)
    for anchor in [*anchors, (len(before), len(after))]:
        pairs += _between(before, after, at, anchor)
        if anchor[0] < len(before):
            pairs.append(Pair(*anchor))
        at = (anchor[0] + 1, anchor[1] + 1)
    return tuple(pairs)


def carried(before: Sequence[Picture], after: Sequence[Picture]) -> dict[int, int]:
    """Index in ``before`` -> in ``after`` of sets in which every dot stands the same but for
    rounding. Labels decide while they lead to the same pictures, else the pictures."""
    at: dict[str, int] = {}
    for index, picture in enumerate(after):
        at.setdefault(plain(picture.label), index)
    by_label = {b: at[key] for b, p in enumerate(before) if (key := plain(p.label)) in at}
    if len(set(by_label.values())) == len(before) and all(
        _is_same(before[b], after[a]) for b, a in by_label.items()
    ):
        return by_label
    return {
        pair.before: pair.after
        for pair in align(before, after)
        if pair.before is not None
        and pair.after is not None
        and _is_same(before[pair.before], after[pair.after])
    }


def _is_same(one: Picture, other: Picture) -> bool:
    return one.at.keys() == other.at.keys() and all(
        DotMove(0, dot, point, other.at[dot]).is_rounding for dot, point in one.at.items()
    )


def plain(label: str) -> str:
    """A label without regard to case and spaces."""
    return "".join(label.split()).casefold()


def likeness(before: Sequence[Picture], after: Sequence[Picture]) -> Floats:
    """How far each two pictures agree, from 0 to 1: the mean over all dots of either."""
    dots = sorted({dot for picture in (*before, *after) for dot in picture.at})
    old, new = _table(before, dots), _table(after, dots)
    found = np.zeros((len(before), len(after)))
    for row in range(len(before)):
        distance = np.hypot(new[:, :, 0] - old[row, :, 0], new[:, :, 1] - old[row, :, 1])
        both = ~np.isnan(distance)
        either = ~np.isnan(new[:, :, 0]) | ~np.isnan(old[row, :, 0])
        agree = np.where(both, np.maximum(1 - distance / UNLIKE, 0), 0).sum(axis=1)
        found[row] = agree / np.maximum(either.sum(axis=1), 1)
    return found


def _table(pictures: Sequence[Picture], dots: Sequence[str]) -> Floats:
    table = np.full((len(pictures), len(dots), 2), np.nan)
    column = {dot: at for at, dot in enumerate(dots)}
    for row, picture in enumerate(pictures):
        for dot, point in picture.at.items():
            table[row, column[dot]] = point
    return table


def _best_chain(worth: Floats) -> list[tuple[int, int]]:
    """The increasing chain of cells whose worth, all positive, sums up to most."""
    rows, columns = worth.shape
    best = np.zeros((rows + 1, columns + 1))
    for i in range(rows - 1, -1, -1):
        for j in range(columns - 1, -1, -1):
            taken = best[i + 1, j + 1] + worth[i, j] if worth[i, j] > 0 else -1.0
            best[i, j] = max(taken, best[i + 1, j], best[i, j + 1])
    chain = []
    i = j = 0
    while i < rows and j < columns:
        if worth[i, j] > 0 and best[i, j] == best[i + 1, j + 1] + worth[i, j]:
            chain.append((i, j))
            i, j = i + 1, j + 1
        elif best[i, j] == best[i + 1, j]:
            i += 1
        else:
            j += 1
    return chain


def _between(
    before: Sequence[Picture],
    after: Sequence[Picture],
    start: tuple[int, int],
    end: tuple[int, int],
) -> list[Pair]:
    """What lies between two matches: equal labels are the same set, redrawn; else removed and
    inserted."""
    pairs: list[Pair] = []
    j = start[1]
    for i in range(start[0], end[0]):
        label = plain(before[i].label)
        same = next((k for k in range(j, end[1]) if plain(after[k].label) == label), None)
        if same is None:
            pairs.append(Pair(i, None))
            continue
        pairs += [Pair(None, k) for k in range(j, same)]
        pairs.append(Pair(i, same))
        j = same + 1
    return pairs + [Pair(None, k) for k in range(j, end[1])]
