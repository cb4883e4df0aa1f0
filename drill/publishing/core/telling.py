"""Who is told about a new revision, and about what: only those it touches."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from drill.lineup.core.changes import MemberChange
from drill.lineup.core.problem import LineupProblem, Seat
from drill.publishing.core.set_moves import Jump

T = TypeVar("T")
Gathered = dict[str, list[T]]
"""by member"""


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
    """What one member is told: what they march, where they are a backup, what happens in their
    rank; and of sets reached otherwise (no spot) where none of these says it."""

    member: str
    own: tuple[MemberChange, ...] = ()
    own_sets: tuple[SetMove, ...] = ()
    backup_sets: tuple[SetMove, ...] = ()
    rank: tuple[MemberChange, ...] = ()
    rank_sets: tuple[SetMove, ...] = ()
    counts: tuple[SetMove, ...] = ()

    @property
    def marches(self) -> bool:
        """True when their own spot changed, not only where they are a backup or lead."""
        return bool(self.own or self.own_sets)


def who_is_told(
    problem: LineupProblem,
    changes: Iterable[MemberChange],
    sets: Iterable[SetMove],
    seats: Mapping[Seat, str | None],
    backups: Iterable[tuple[str, str]],
    *,
    first: bool,
) -> tuple[Told, ...]:
    """Each member touched, once, in order of key.

    ``seats`` is the new lineup; ``backups`` are (spot, member) pairs in readiness. Touched are
    those whose seat changed, who march or are a backup for a spot that stands elsewhere, and the
    leader of each rank with either (the assistant leader where the leader is away). A set that is
    reached otherwise touches everybody who comes to the segment: drum majors and alternates count
    too. The first revision tells marchers only.
    """
    rank_of = {s.key: s.rank for s in problem.spots}
    leader_of = _leaders(problem)
    own, rank = _of_changes(changes, rank_of, {} if first else leader_of)
    leading = {spot: leader_of[r] for spot, r in rank_of.items() if r in leader_of}
    sets = tuple(sets)
    own_sets, backup_sets, rank_sets = _of_sets(sets, seats, backups, leading)
    counts = _of_counts(problem, sets, (own_sets, backup_sets, rank_sets))
    everybody = sorted({*own, *own_sets, *backup_sets, *rank, *rank_sets, *counts})
    return tuple(
        Told(
            member,
            tuple(own[member]),
            tuple(own_sets[member]),
            tuple(backup_sets[member]),
            tuple(rank[member]),
            tuple(rank_sets[member]),
            tuple(counts[member]),
        )
        for member in everybody
    )


def _of_changes(
    changes: Iterable[MemberChange], rank_of: Mapping[str, str], leader_of: Mapping[str, str]
) -> tuple[Gathered[MemberChange], Gathered[MemberChange]]:
    """Changes by the member who makes them, and by the leader of a rank they touch."""
    own: Gathered[MemberChange] = defaultdict(list)
    rank: Gathered[MemberChange] = defaultdict(list)
    for change in changes:
        own[change.member].append(change)
        for where in {rank_of.get(s, "") for s in (change.before, change.after) if s}:
            leader = leader_of.get(where)
            if leader and leader != change.member:
                rank[leader].append(change)
    return own, rank


def _of_sets(
    sets: Iterable[SetMove],
    seats: Mapping[Seat, str | None],
    backups: Iterable[tuple[str, str]],
    leading: Mapping[str, str],
) -> tuple[Gathered[SetMove], Gathered[SetMove], Gathered[SetMove]]:
    """Sets by who marches the spot, who is a backup for it, and who leads its rank."""
    backing_up: Gathered[str] = defaultdict(list)
    for spot, member in backups:
        backing_up[spot].append(member)
    own: Gathered[SetMove] = defaultdict(list)
    backup: Gathered[SetMove] = defaultdict(list)
    rank: Gathered[SetMove] = defaultdict(list)
    for move in sets:
        holder = seats.get((move.segment, move.spot))
        if holder:
            own[holder].append(move)
        for member in backing_up[move.spot]:
            if member != holder:
                backup[member].append(move)
        leader = leading.get(move.spot)
        if leader and leader != holder:
            rank[leader].append(move)
    return own, backup, rank


def _of_counts(
    problem: LineupProblem, sets: Iterable[SetMove], told: Iterable[Gathered[SetMove]]
) -> Gathered[SetMove]:
    """Sets reached otherwise, by members whom nothing else tells of them."""
    jumps = dict.fromkeys(
        SetMove(m.segment, "", m.label, m.distance) for m in sets if isinstance(m.distance, Jump)
    )
    know = {(m, x.segment, x.label) for moves in told for m in moves for x in moves[m]}
    counts: Gathered[SetMove] = defaultdict(list)
    for jump in jumps:
        for member in problem.members:
            comes = jump.segment not in member.away
            if comes and (member.key, jump.segment, jump.label) not in know:
                counts[member.key].append(jump)
    return counts


def _leaders(problem: LineupProblem) -> dict[str, str]:
    """Rank -> its leader, or its assistant leader where the leader misses every segment."""
    away = {m.key for m in problem.members if {g.key for g in problem.segments} <= m.away}
    known = {m.key for m in problem.members}
    found = {}
    for rank in problem.ranks:
        here = [m for m in rank.leaders if m in known]
        present = [m for m in here if m not in away]
        if here:
            found[rank.key] = (present or here)[0]
    return found
