"""Spots that stand elsewhere in a new version of a drill."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from drill.shows.core.version_changes import ROUNDING, Picture
from drill.shows.core.versions import align


class Jump(NamedTuple):
    """A set that comes straight from another since what stood between them is cut, or that is
    reached in other counts."""

    follows: str
    counts: int


def moved_spots(
    before: Sequence[Picture],
    after: Sequence[Picture],
    was: Mapping[str, str],
    now: Mapping[str, str],
) -> list[tuple[str, str, float | Jump | None]]:
    """(spot, set label, what happens there) for spots that stand more than a quarter step from
    before in a set or in one that is new, and for sets that are reached otherwise.

    ``was`` and ``now`` are the dots of the spots. Sets are matched by their pictures: another
    label alone is nobody's news, and neither is a first drill.
    """
    if not any(picture.at for picture in before):
        return []
    same = _matched(before, after)
    reached = _reached(before, after, same)
    found: list[tuple[str, str, float | Jump | None]] = []
    for spot, dot in now.items():
        for index, picture in enumerate(after):
            if dot not in picture.at:
                continue
            x, y = picture.at[dot]
            old = before[same[index]].at.get(was.get(spot, "")) if index in same else None
            distance = None if old is None else math.hypot(x - old[0], y - old[1])
            if distance is None or distance > ROUNDING:
                found.append((spot, picture.label, distance))
            if index in reached:
                found.append((spot, picture.label, reached[index]))
    return found


def _matched(before: Sequence[Picture], after: Sequence[Picture]) -> dict[int, int]:
    """Index of a set in ``after`` -> of the same one in ``before``."""
    return {
        pair.after: pair.before
        for pair in align(before, after)
        if pair.before is not None and pair.after is not None
    }


def _reached(
    before: Sequence[Picture], after: Sequence[Picture], same: Mapping[int, int]
) -> dict[int, Jump]:
    """Sets (indices in ``after``) that come straight from another since what stood between them
    is cut, or in other counts than before."""
    found = {}
    for at, picture in enumerate(after[1:], 1):
        if at not in same or at - 1 not in same:
            continue
        skipped = same[at] - same[at - 1] > 1
        if skipped or before[same[at]].counts != picture.counts:
            found[at] = Jump(after[at - 1].label, picture.counts)
    return found
