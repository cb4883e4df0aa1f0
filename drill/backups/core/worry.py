"""Which spots to worry about: how likely each is to have nobody who knows it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drill.backups.core.coverage import SegmentCoverage, SpotCoverage, State


@dataclass(frozen=True, slots=True)
class Worry:
    """``chance`` that the spot's member is out and nobody who knows it answers."""

    spot: str
    chance: float


def worries(segments: Iterable[SegmentCoverage], out: Mapping[str, float]) -> tuple[Worry, ...]:
    """Spots that are bare or thin, the likeliest to stay open first, each by its worst segment.

    ``out``: member -> chance of being out. Absences are independent; somebody not named is there.
    A bare spot opens when its member is out, a thin one when one it hangs on is out as well. Open
    spots are not among them: they are open already.
    """
    worst: dict[str, float] = {}
    for segment in segments:
        for row in segment.spots:
            chance = _chance(row, out)
            if chance > worst.get(row.spot, 0.0):
                worst[row.spot] = chance
    found = [Worry(spot, chance) for spot, chance in worst.items()]
    return tuple(sorted(found, key=lambda worry: (-worry.chance, worry.spot)))


def _chance(row: SpotCoverage, out: Mapping[str, float]) -> float:
    if row.member is None or row.state in (State.HOLE, State.SAFE):
        return 0.0
    own = out.get(row.member, 0.0)
    if row.state is State.BARE:
        return own
    return own * (1.0 - math.prod(1.0 - out.get(member, 0.0) for member in row.hangs_on))
