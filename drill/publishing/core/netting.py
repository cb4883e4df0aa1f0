"""What several notices of one member come to: only what still holds by the newest revision, and
shortly what does not."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

from drill.lineup.core.changes import Change
from drill.lineup.core.problem import Seat

Content = Mapping[str, Any]
"""of a notice, as it is stored"""
Rows = list[list[Any]]


def net(contents: Sequence[Content], member: str, seats: Mapping[Seat, str | None]) -> Content:
    """One content for all, in order of their revisions; ``seats`` are those of the newest.

    ``no_longer`` has what was told and holds no more: [segment, spots told, where they stand,
    whether that is where they stood before all of it]; ``rank_no_longer`` the same after the
    segment and a member of the reader's rank.
    """
    stands = {(segment, who): spot for (segment, spot), who in seats.items() if who}
    own = [[g, member, *rest] for g, *rest in _all(contents, "changes")]
    changes, no_longer = _net_changes(own, stands)
    rank, rank_no_longer = _net_changes(_all(contents, "rank"), stands)
    return {
        "changes": [[g, *rest] for g, _, *rest in changes],
        "no_longer": [[g, *rest] for g, _, *rest in no_longer],
        "stand_by": [
            [g, s, seats[g, s]]
            for g, s, _ in _latest(_all(contents, "stand_by"), 2)
            if (g, s) in seats and (g, member) not in stands
        ],
        "sets": [
            m for m in _latest(_all(contents, "sets"), 3) if seats.get((m[0], m[1])) == member
        ],
        "backups": [
            m for m in _latest(_all(contents, "backups"), 3) if seats.get((m[0], m[1])) != member
        ],
        "rank": rank,
        "rank_no_longer": rank_no_longer,
        "rank_sets": _latest(_all(contents, "rank_sets"), 3),
        "counts": _latest(_all(contents, "counts"), 3),
    }


def still_to_come(content: Content, over: Collection[str]) -> Content:
    """Without what it says of segments that are over; every row starts with its segment."""
    if not over:
        return content
    return {part: [row for row in rows if row[0] not in over] for part, rows in content.items()}


def _all(contents: Iterable[Content], part: str) -> Rows:
    return [row for content in contents for row in content.get(part, ())]


def _latest(rows: Rows, width: int) -> Rows:
    """The last row of those that start alike."""
    return list({tuple(row[:width]): row for row in rows}.values())


def _net_changes(rows: Rows, stands: Mapping[tuple[str, str], str]) -> tuple[Rows, Rows]:
    """[segment, member, change, before, after] from where they stood first to where they stand
    now; and what was told in between."""
    found: dict[tuple[str, str], Rows] = {}
    for segment, who, _, *ends in rows:
        found.setdefault((segment, who), []).append(ends)
    changes, no_longer = [], []
    for (segment, who), steps in found.items():
        first, now = steps[0][0], stands.get((segment, who))
        if first != now:
            changes.append([segment, who, _kind(first, now), first, now])
        told = list(dict.fromkeys(after for _, after in steps if after not in (None, first, now)))
        if told or first == now:
            no_longer.append([segment, who, told, now, first == now])
    return changes, no_longer


def _kind(before: str | None, after: str | None) -> str:
    kind = Change.STEPS_IN if before is None else Change.STEPS_OUT if after is None else None
    return (kind or Change.MOVES).value
