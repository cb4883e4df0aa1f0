"""What the page of backups tells of holes and of who backups them."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from typing import Any

from drill.backups.core.coverage import State
from drill.backups.services.backup_lines import spot_lines
from drill.backups.services.chances import Chances
from drill.backups.services.coverage import WORST, Covered
from drill.backups.wording import chances_words, percent_words
from drill.lineup.wording import Names

OFTEN, MOST_NAMED = 3, 8
"""how many times the average is often; how many of those are named"""


def chances_context(found: Covered, usual: Chances, chances: dict[str, float]) -> dict[str, Any]:
    """How the chances were come by, and who is out most often; never why."""
    prior = usual.prior
    names = Names(found.event.season_id)
    often = sorted((-usual.of(m), m) for m in chances if usual.of(m) >= OFTEN * prior.average)
    return {
        "chances": chances_words(
            usual.performances, usual.rehearsals, prior.average, math.isfinite(prior.strength)
        ),
        "often": [(names.member(m), percent_words(-chance)) for chance, m in often[:MOST_NAMED]],
        "often_others": len(often[MOST_NAMED:]),
    }


def coverage_context(
    found: Covered, chances: dict[str, float], rank: str, with_pairs: bool
) -> dict[str, Any]:
    """What the page shows of an event's spots and backups; of one rank where one is chosen."""
    names = Names(found.event.season_id)
    lines = spot_lines(found, names)
    bare = [x.member or "" for x in lines if x.state is State.BARE]
    counts = Counter(line.state for line in lines)
    shown = [
        x for x in lines if (str(x.spot.rank_id) == rank if rank else x.state is not State.SAFE)
    ]
    return {
        "figures": [(state.value, counts[state]) for state in reversed(WORST)],
        "may": [(state.value, n) for state, n in sorted(_may_counts(found), key=_worst_last)],
        "lines": [(x, _percent(chances, x.member)) for x in shown],
        "bare_holes": sum(chances.get(member, 0.0) for member in bare),
        "ranks": list(dict.fromkeys(line.spot.rank for line in lines)),
        "supports": _supports(found, names),
        "lessons": [(names.member(x.member), names.spot(x.spot)) for x in found.lessons.lessons],
        "alone": [(names.member(x.member), names.spot(x.spot)) for x in found.lessons.alone],
        "lessons_proven": found.lessons.proven,
        "hopeless": [f"{names.segment(g)} {names.spot(s)}" for g, s in found.lessons.hopeless],
        "limits": sorted({rule.value for segment in found.segments for rule in segment.limits}),
        "pairs": _pairs(found, names) if with_pairs else None,
    }


def _percent(chances: dict[str, float], member: str | None) -> str:
    return percent_words(chances[member]) if member is not None and member in chances else ""


def _may_counts(found: Covered) -> list[tuple[State, int]]:
    return list(Counter(found.worst(found.may).values()).items())


def _worst_last(item: tuple[State, int]) -> int:
    return -WORST.index(item[0])


def _supports(found: Covered, names: Names) -> list[tuple[str, list[str]]]:
    """Who holds up more than one spot, most first."""
    hanging: dict[str, set[str]] = defaultdict(set)
    for segment in found.segments:
        for support in segment.supports:
            hanging[support.member] |= set(support.spots)
    busy = [(m, sorted(spots)) for m, spots in hanging.items() if len(spots) > 1]
    busy.sort(key=lambda item: (-len(item[1]), item[0]))
    return [(names.member(m), [names.spot(s) for s in spots]) for m, spots in busy]


def _pairs(found: Covered, names: Names) -> list[tuple[str, list[str]]]:
    def people(group: tuple[str, ...]) -> str:
        return ", ".join(names.member(member) for member in group)

    return [(names.segment(f.segment), [people(g) for g in f.groups]) for f in found.pairs()]
