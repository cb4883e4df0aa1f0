"""Coverage: what happens to a lineup, spot by spot, if one more member drops out.

Every single absence of a segment is answered by one search; the side rules are looked at for the
chain found, and where they do not bear it the lineup is solved again. Leaders are wanted, not
required, so an answer may leave a rank without one. Segments are apart, except under a travel
limit, where who drops out misses the whole event.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np

from drill.backups.core.coverage.again import Again, moves_from
from drill.backups.core.coverage.classes import SeatClasses
from drill.backups.core.coverage.ground import NOBODY, Ground, Known, ground_of
from drill.backups.core.coverage.lessons import fewest, need_of, sufficient
from drill.backups.core.coverage.result import (
    Answer,
    FailingPairs,
    Lesson,
    Lessons,
    Limiting,
    Move,
    SegmentCoverage,
    SpotCoverage,
    State,
    Support,
)
from drill.backups.core.coverage.side_rules import Chain, SideRules
from drill.lineup.core.problem import LineupProblem, Placement, Seat
from drill.lineup.core.solver import Limits
from drill.lineup.core.solver.index import Ints

__all__ = [
    "Answer",
    "FailingPairs",
    "Lesson",
    "Lessons",
    "Limiting",
    "Move",
    "SegmentCoverage",
    "SpotCoverage",
    "State",
    "Support",
    "coverage",
    "failing_pairs",
    "lessons",
]

FREE, UNREACHED = 0, 1 << 18
STEP, RUNG = 1 << 40, 1 << 24


def coverage(
    problem: LineupProblem,
    placements: Iterable[Placement],
    *,
    known: Known | None = None,
    limits: Limits = Limits(),
) -> tuple[SegmentCoverage, ...]:
    """Every seat of every segment of the lineup as given, segments in the order of their keys.

    With ``known`` (member, spot) an answer may use only who knows the spot; whoever stands on it
    now counts. Pins hold for all but the member who drops out. ``max_moved`` is not looked at.
    """
    rows = tuple(placements)
    ground = ground_of(problem, rows, known)
    rules = SideRules(ground)
    segments = [_Segment.of(ground, rules, g) for g in range(len(ground.problem.segments))]
    again = Again(ground, problem.pins, limits)
    return tuple(_with_rules(segment, again, segments) for segment in segments)


def failing_pairs(covered: SegmentCoverage) -> FailingPairs:
    """All pairs of members of the segment who can each be answered for, but not both.

    Two absences need two chains without a common member; by Menger's theorem there are such
    chains unless one member is on every chain of both, and then the first such members agree.
    """
    groups: dict[str, list[str]] = {}
    hopeless = []
    for row in covered.spots:
        if row.member is None:
            continue
        if row.answer is Answer.NONE:
            hopeless.append(row.member)
        else:
            first = row.hangs_on[0] if row.hangs_on else row.member
            groups.setdefault(first, []).append(row.member)
    found = sorted(tuple(sorted(group)) for group in groups.values() if len(group) > 1)
    return FailingPairs(
        covered.segment, tuple(found), tuple(sorted(hopeless)), exact=not covered.limits
    )


def lessons(
    problem: LineupProblem,
    placements: Iterable[Placement],
    *,
    known: Known,
    limits: Limits = Limits(),
) -> Lessons:
    """The fewest lessons after which every single absence has an answer: for alternates who stand
    in no segment, on spots they may march but do not know."""
    rows = tuple(placements)
    ground = ground_of(problem, rows, known)
    need = need_of(ground)
    found, proven = fewest(need)
    alone = sufficient(need) if len(found) == 1 else ()
    seats = ground.arcs.seats
    hopeless = {seats[seat] for seat in need.hopeless}

    def left_by(taken: Iterable[Lesson]) -> set[Seat]:
        """Seats without an answer after the lessons, side rules looked at."""
        learnt = known | {(lesson.member, lesson.spot) for lesson in taken}
        after = coverage(problem, rows, known=learnt, limits=limits)
        return {(g.segment, s.spot) for g in after for s in g.spots if s.state is State.BARE}

    left = left_by(found)
    if alone and left != hopeless:
        alone = tuple(lesson for lesson in alone if left_by([lesson]) == hopeless)
        if alone:
            found, left = alone[:1], hopeless
    return Lessons(found, proven and left == hopeless, alone, tuple(sorted(left)))


@dataclass(frozen=True)
class _Segment:
    """The answers of one segment before stock and travel are looked at."""

    ground: Ground
    rules: SideRules
    number: int
    seats: Ints
    classes: SeatClasses
    step: dict[int, int]
    """seat -> who takes it in a shortest chain"""
    direct: dict[int, list[int]]
    """seat -> free members who may take it and whom stock allows to, nearest first"""

    @classmethod
    def of(cls, ground: Ground, rules: SideRules, number: int) -> _Segment:
        seats = ground.seats_of(number)
        classes = SeatClasses.of(ground, seats)
        steps = np.full(max(ground.people, 1), FREE, np.int64)
        for m, home in classes.home.items():
            steps[m] = classes.distance.get(home, UNREACHED)
        arcs = ground.arcs_of(seats)
        member, seat, standing = ground.member[arcs], ground.seat[arcs], ground.standing[arcs]
        key = steps[member] * STEP + standing * RUNG + member
        order = np.lexsort((key, seat))
        direct: dict[int, list[int]] = {}
        stepping = order[(steps[member[order]] == FREE) & rules.direct_fits(arcs)[order]]
        for place, who in zip(seat[stepping].tolist(), member[stepping].tolist(), strict=True):
            direct.setdefault(place, []).append(who)
        first = order[np.flatnonzero(np.diff(seat[order], prepend=-1))]
        step = dict(zip(seat[first].tolist(), member[first].tolist(), strict=True))
        return cls(ground, rules, number, seats, classes, step, direct)

    def reached(self, seat: int) -> bool:
        """Whether anybody answers, side rules apart."""
        return self.classes.of_seat[seat] in self.classes.distance

    def shortest(self, seat: int) -> Chain:
        """A shortest chain, side rules apart."""
        chain: Chain = []
        place: int | None = seat
        while place is not None:
            member = self.step[place]
            chain.append((member, place))
            place = self.left.get(member)
        return chain

    def chain(self, seat: int) -> Chain | None:
        """A chain that stock bears, as far as looking at a few finds one."""
        if seat in self.direct:
            return [(self.direct[seat][0], seat)]
        return next((c for c in self._few(seat) if self.rules.chain_fits(self.number, c)), None)

    def _few(self, seat: int) -> Iterator[Chain]:
        """The shortest chain, then those in which one member moves and one steps in."""
        yield self.shortest(seat)
        if not self.rules.stock:
            return
        for member in self.classes.rows[self.classes.of_seat[seat]]:
            place = self.left.get(member)
            if place is None or place == seat:
                continue
            number = self.classes.of_seat[place]
            for free in self.classes.free[number]:
                yield [(member, seat), (free, place)]

    @cached_property
    def left(self) -> dict[int, int]:
        """member -> the seat where they stand"""
        places = self.seats.tolist()
        occupants = self.ground.occupant[self.seats].tolist()
        return {m: s for m, s in zip(occupants, places, strict=True) if m != NOBODY}


def _with_rules(here: _Segment, again: Again, segments: list[_Segment]) -> SegmentCoverage:
    ground = here.ground
    tainted = here.rules.tainted(here.seats, here.classes)
    coupled = {s for s in here.seats.tolist() if here.rules.travel_could_bind(s)}
    spots = []
    for seat in here.seats.tolist():
        row = _spot(here, seat, again, segments)
        risky = here.classes.of_seat[seat] in tainted and len(row.direct) < 2
        spots.append(replace(row, exact=False) if _open_to(row, risky or seat in coupled) else row)
    supports: dict[str, list[str]] = {}
    for row in spots:
        for member in row.hangs_on:
            supports.setdefault(member, []).append(row.spot)
    ordered = sorted(supports.items(), key=lambda item: (-len(item[1]), item[0]))
    binding = ((Limiting.STOCK, tainted), (Limiting.TRAVEL, coupled))
    return SegmentCoverage(
        ground.problem.segments[here.number].key,
        tuple(spots),
        tuple(Support(member, tuple(hanging)) for member, hanging in ordered),
        tuple(rule for rule, where in binding if where),
    )


def _open_to(row: SpotCoverage, risky: bool) -> bool:
    return risky and row.state in (State.SAFE, State.THIN)


def _spot(here: _Segment, seat: int, again: Again, segments: list[_Segment]) -> SpotCoverage:
    ground, number = here.ground, here.classes.of_seat[seat]
    member = int(ground.occupant[seat])
    if member == NOBODY:
        return SpotCoverage(ground.spot(seat), None, State.HOLE)
    if not here.reached(seat):
        return SpotCoverage(ground.spot(seat), ground.name(member), State.BARE)
    hangs_on = here.classes.hangs_on[number]
    chain = here.chain(seat)
    moves = _moves(ground, chain or here.shortest(seat))
    row = SpotCoverage(
        ground.spot(seat),
        ground.name(member),
        State.THIN if hangs_on else State.SAFE,
        Answer.DIRECT if len(moves) == 1 else Answer.CHAIN,
        moves,
        here.classes.answers[number],
        tuple(ground.name(m) for m in here.direct.get(seat, ())),
        tuple(ground.name(m) for m in hangs_on),
    )
    if chain is not None and _travel_fits(member, segments):
        return row
    return _solved_again(row, here, seat, again)


def _moves(ground: Ground, chain: Chain) -> tuple[Move, ...]:
    left = [ground.spot(place) for _, place in chain[1:]]
    return tuple(
        Move(ground.name(member), source, ground.spot(place))
        for (member, place), source in zip(chain, (*left, None), strict=True)
    )


def _travel_fits(member: int, segments: list[_Segment]) -> bool:
    """Whether travel bears those who step in, in all segments, when the member drops out."""
    if segments[0].ground.problem.travel_limit is None:
        return True
    chains = [
        segment.chain(segment.left[member]) or segment.shortest(segment.left[member])
        for segment in segments
        if member in segment.left and segment.reached(segment.left[member])
    ]
    return segments[0].rules.travel_fits(member, [chain[-1][0] for chain in chains])


def _solved_again(row: SpotCoverage, here: _Segment, seat: int, again: Again) -> SpotCoverage:
    member = int(here.ground.occupant[seat])
    if here.rules.surely_too_many(member):
        return SpotCoverage(row.spot, row.member, State.BARE, rule=Limiting.TRAVEL)
    solved = again.without(member, here.number)
    if solved.rule is not None:
        return SpotCoverage(row.spot, row.member, State.BARE, rule=solved.rule, exact=solved.proven)
    moves = moves_from(here.ground, seat, solved.stands)
    answer = Answer.DIRECT if len(moves) == 1 else Answer.CHAIN
    return replace(row, answer=answer, moves=moves)
