"""Coverage: what happens to a lineup, spot by spot, if one more member drops out.

Every single absence of a segment is answered by one search; the side rules are looked at for the
chain found, and where they do not bear it the lineup is solved again. Leaders are wanted, not
required, so an answer may leave a rank without one. Segments are apart, except under a travel
limit, where who drops out misses the whole event.
"""

from __future__ import annotations

from collections.abc import Iterable

from drill.backups.core.coverage.again import Again
from drill.backups.core.coverage.ground import Known, ground_of
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
from drill.backups.core.coverage.segment import SegmentAnswers
from drill.backups.core.coverage.side_checked import with_rules
from drill.backups.core.coverage.side_rules import SideRules
from drill.lineup.core.problem import LineupProblem, Placement, Seat
from drill.lineup.core.solver import Limits

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
    segments = [SegmentAnswers.of(ground, rules, g) for g in range(len(ground.problem.segments))]
    again = Again(ground, problem.pins, limits)
    return tuple(with_rules(segment, again, segments) for segment in segments)


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
