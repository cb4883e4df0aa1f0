"""Coverage spot by spot, in words."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from bandops.lib.keys import key
from drill.backups.core.coverage import SpotCoverage, State
from drill.backups.services.coverage import WORST, Covered
from drill.backups.wording import coverage_words
from drill.lineup.wording import Names
from roster.ranks.models import Spot


@dataclass(frozen=True)
class SpotLine:
    """A spot with its worst state and what answers there."""

    spot: Spot
    state: State
    may: State
    member: str | None
    """who marches it, by key"""
    holder: str
    words: str
    where: str


def spot_lines(found: Covered, names: Names) -> list[SpotLine]:
    """Every spot with the segment where it stands worst, in printing order."""
    may = found.worst(found.may)
    rows: dict[str, list[tuple[str, SpotCoverage]]] = defaultdict(list)
    for segment in found.segments:
        for row in segment.spots:
            rows[row.spot].append((segment.segment, row))
    lines = []
    for spot, group in rows.items():
        where, worst = min(group, key=lambda item: WORST.index(item[1].state))
        same = all(row.state is worst.state for _, row in group)
        lines.append(
            SpotLine(
                found.built.spots[spot],
                worst.state,
                may[spot],
                worst.member,
                names.member(worst.member),
                coverage_words(worst, names),
                "" if same else names.segment(where),
            )
        )
    order = {spot: number for number, spot in enumerate(found.built.spots)}
    return sorted(lines, key=lambda line: order[key(line.spot.pk)])
