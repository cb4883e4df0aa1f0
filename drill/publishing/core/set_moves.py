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
    before in a set or in one that is new. A set that is reached otherwise is news to every spot,
    with or without a coordinate there: drum majors count as well.

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
            old = before[same[index]].at.get(was.get(spot, "")) if index in same else None
            distance = _distance(old, picture.at.get(dot))
            if distance is None or distance > ROUNDING:
                found.append((spot, picture.label, distance))
            if index in reached:
                found.append((spot, picture.label, reached[index]))
    return found


def _distance(old: tuple[int, int] | None, new: tuple[int, int] | None) -> float | None:
    """How far a dot moved; nothing for one that stands nowhere now, None for a new one."""
    if new is None:
        return 0.0
    return None if old is None else math.hypot(new[0] - old[0], new[1] - old[1])


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
