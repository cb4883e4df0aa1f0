"""Who leads a rank where its leader does not march, or may not."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Marcher:
    """Somebody on the field with a rank: ``order`` is their spot's place in it; ``own`` are those
    of the rank itself, before who stands in from elsewhere."""

    key: int
    years: int
    order: int
    own: bool = True
    doubtful: bool = False


@dataclass(frozen=True)
class Leading:
    """Who leads, one after another: each but the last is doubtful. ``usual`` leads otherwise."""

    usual: int
    line: tuple[int, ...]


def who_leads(leaders: Sequence[int], marchers: Collection[Marcher]) -> Leading | None:
    """The assistant leader, then the most experienced (of equals the first in the rank).

    ``leaders`` are the leader and the assistant leader, as far as there are any. None where the
    leader leads for sure, and where there is nobody to lead or to be led.
    """
    if not leaders or not marchers:
        return None
    marching = {m.key: m for m in marchers}
    named = [marching[key] for key in leaders if key in marching]
    others = sorted(
        (m for m in marching.values() if m.key not in leaders),
        key=lambda m: (not m.own, -m.years, m.order),
    )
    line = []
    for marcher in (*named, *others):
        line.append(marcher.key)
        if not marcher.doubtful:
            break
    return None if line == [leaders[0]] else Leading(leaders[0], tuple(line))
