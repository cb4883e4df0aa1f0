"""Who is told about a new revision, and about what: only those it touches."""

from __future__ import annotations

import datetime
import math
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple
from zoneinfo import ZoneInfo

from drill.lineup.core.changes import MemberChange
from drill.lineup.core.problem import LineupProblem, Seat
from drill.shows.core.version_changes import ROUNDING, Picture
from drill.shows.core.versions import align

URGENT = datetime.timedelta(hours=12)
"""this close to the call, quiet hours wait for nobody"""
AHEAD = datetime.timedelta(hours=2)
"""what waits must still come so long before the call"""


class Jump(NamedTuple):
    """A set that comes straight from another since what stood between them is cut, or that is
    reached in other counts."""

    follows: str
    counts: int


@dataclass(frozen=True, slots=True)
class SetMove:
    """A spot that stands elsewhere in a set; ``distance`` in 1/32 inches, None for a new set; or
    the set is reached otherwise: straight from an earlier one, or in other counts."""

    segment: str
    spot: str
    label: str
    distance: float | Jump | None


@dataclass(frozen=True, slots=True)
class Told:
    """What one member is told: what they march, what they cover, what happens in their rank."""

    member: str
    own: tuple[MemberChange, ...] = ()
    own_sets: tuple[SetMove, ...] = ()
    cover_sets: tuple[SetMove, ...] = ()
    rank: tuple[MemberChange, ...] = ()
    rank_sets: tuple[SetMove, ...] = ()

    @property
    def marches(self) -> bool:
        """True when their own spot changed, not only what they cover or lead."""
        return bool(self.own or self.own_sets)


def moved_spots(
    before: Sequence[Picture],
    after: Sequence[Picture],
    was: Mapping[str, str],
    now: Mapping[str, str],
) -> list[tuple[str, str, float | Jump | None]]:
    """(spot, set label, what happens there) for spots that stand more than a quarter step from
    before in a set or in one that is new, and for sets that are reached otherwise.

    ``was`` and ``now`` are the places of the spots. Sets are matched by their pictures: another
    label alone is nobody's news, and neither is a first drill.
    """
    if not any(picture.at for picture in before):
        return []
    same = _matched(before, after)
    reached = _reached(before, after, same)
    found: list[tuple[str, str, float | Jump | None]] = []
    for spot, place in now.items():
        for index, picture in enumerate(after):
            if place not in picture.at:
                continue
            x, y = picture.at[place]
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


def who_is_told(
    problem: LineupProblem,
    changes: Iterable[MemberChange],
    sets: Iterable[SetMove],
    seats: Mapping[Seat, str | None],
    covers: Iterable[tuple[str, str]],
    *,
    first: bool,
) -> tuple[Told, ...]:
    """Each member touched, once, in order of key.

    ``seats`` is the new lineup; ``covers`` are (spot, member) pairs in readiness. Touched are those
    whose seat changed, who march or cover a spot that stands elsewhere, and the leader of each
    rank with either (the second where the leader is away). The first revision tells marchers only.
    """
    own: dict[str, list[MemberChange]] = defaultdict(list)
    own_sets: dict[str, list[SetMove]] = defaultdict(list)
    cover_sets: dict[str, list[SetMove]] = defaultdict(list)
    rank: dict[str, list[MemberChange]] = defaultdict(list)
    rank_sets: dict[str, list[SetMove]] = defaultdict(list)
    rank_of = {s.key: s.rank for s in problem.spots}
    leader_of = _leaders(problem)
    covering: dict[str, list[str]] = defaultdict(list)
    for spot, member in covers:
        covering[spot].append(member)
    for change in changes:
        own[change.member].append(change)
        for where in {rank_of.get(s, "") for s in (change.before, change.after) if s}:
            leader = leader_of.get(where)
            if not first and leader and leader != change.member:
                rank[leader].append(change)
    for move in sets:
        holder = seats.get((move.segment, move.spot))
        if holder:
            own_sets[holder].append(move)
        for member in covering[move.spot]:
            if member != holder:
                cover_sets[member].append(move)
        leader = leader_of.get(rank_of.get(move.spot, ""))
        if leader and leader != holder:
            rank_sets[leader].append(move)
    everybody = sorted({*own, *own_sets, *cover_sets, *rank, *rank_sets})
    return tuple(
        Told(
            member,
            tuple(own[member]),
            tuple(own_sets[member]),
            tuple(cover_sets[member]),
            tuple(rank[member]),
            tuple(rank_sets[member]),
        )
        for member in everybody
    )


def _leaders(problem: LineupProblem) -> dict[str, str]:
    """Rank -> its leader, or its second where the leader misses every segment."""
    away = {m.key for m in problem.members if {g.key for g in problem.segments} <= m.away}
    known = {m.key for m in problem.members}
    found = {}
    for rank in problem.ranks:
        here = [m for m in rank.leaders if m in known]
        present = [m for m in here if m not in away]
        if here:
            found[rank.key] = (present or here)[0]
    return found


def wait_until(
    now: datetime.datetime,
    quiet: tuple[datetime.time, datetime.time] | None,
    zone: ZoneInfo,
    call: datetime.datetime,
) -> datetime.datetime | None:
    """When a notice may go out: None for at once, else the end of the quiet hours in ``zone``.

    Quiet hours may span midnight. Nothing waits within 12 hours of the call or after it, nor
    where the quiet hours end less than two hours before it.
    """
    if quiet is None or quiet[0] == quiet[1] or call - now <= URGENT:
        return None
    starts, ends = quiet
    local = now.astimezone(zone)
    clock = local.time()
    over_night = starts > ends
    is_quiet = (clock >= starts or clock < ends) if over_night else starts <= clock < ends
    if not is_quiet:
        return None
    day = local.date()
    if over_night and clock >= starts:
        day += datetime.timedelta(days=1)
    at = datetime.datetime.combine(day, ends, tzinfo=zone)
    return at if call - at >= AHEAD else None
