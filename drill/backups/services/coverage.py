"""Coverage of an event's lineup: what happens, spot by spot, if one more member drops out."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

from bandops.lib.audit.unchanged import while_unchanged
from bandops.lib.keys import key
from drill.backups.core import coverage as core
from drill.backups.core.coverage import FailingPairs, Lessons, SegmentCoverage, State
from drill.backups.models import Lesson
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.core.problem import Placement
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built, build_to_show
from drill.lineup.services.proposals import placements_of

KNOWS_FROM = 0.5
"""the share of a show's sets that makes a practised spot a known one: common practice, no source"""

WORST = (State.HOLE, State.BARE, State.THIN, State.SAFE)


@dataclass(frozen=True)
class Covered:
    """A lineup's coverage by who knows a spot; ``may`` is the same by who plays its part."""

    event: Event
    lineup: Lineup
    built: Built
    placements: tuple[Placement, ...]
    known: frozenset[tuple[str, str]]

    @cached_property
    def segments(self) -> tuple[SegmentCoverage, ...]:
        return core.coverage(self.built.problem, self.placements, known=self.known)

    @cached_property
    def may(self) -> tuple[SegmentCoverage, ...]:
        return core.coverage(self.built.problem, self.placements)

    @cached_property
    def lessons(self) -> Lessons:
        """The fewest lessons that answer every single absence."""
        return core.lessons(self.built.problem, self.placements, known=self.known)

    def pairs(self) -> tuple[FailingPairs, ...]:
        """Which two absences together leave a spot empty, segment by segment."""
        return tuple(core.failing_pairs(segment) for segment in self.segments)

    def worst(self, by: tuple[SegmentCoverage, ...]) -> dict[str, State]:
        """Spot -> its worst state over the segments."""
        found: dict[str, State] = {}
        for segment in by:
            for row in segment.spots:
                old = found.get(row.spot, State.SAFE)
                found[row.spot] = min(old, row.state, key=WORST.index)
        return found


def covered(event: Event) -> Covered | None:
    """The coverage of the draft, else of the newest revision; None before there is either."""
    lineup = _shown(event)
    return covered_lineup(event, lineup) if lineup else None


def covered_to_show(event: Event) -> Covered | None:
    """The same for pages that only show it."""
    lineup = _shown(event)
    return lineup_to_show(event, lineup) if lineup else None


def _shown(event: Event) -> Lineup | None:
    return lineup_queries.draft(event) or lineup_queries.published(event)


def lineup_to_show(event: Event, lineup: Lineup, built: Built | None = None) -> Covered:
    """The coverage of one lineup with its answers, kept while nothing is written; ``built`` where
    the event is built already."""
    built = built or build_to_show(event)
    shown = ("coverage", lineup.pk, built.over)
    return while_unchanged(shown, lambda: covered_lineup(event, lineup, built))


def covered_lineup(event: Event, lineup: Lineup, built: Built | None = None) -> Covered:
    """The coverage of one lineup; ``built`` where the event is built already."""
    built = built or build_to_show(event)
    return Covered(event, lineup, built, placements_of(lineup), known_pairs(built))


def known_pairs(built: Built, *, with_plan: bool = True) -> frozenset[tuple[str, str]]:
    """(member, spot): the holders, the named backups, who has practised at least half of every
    show of the event on it and, with the plan, who learns the spot by it."""
    pairs = {(m.key, m.holds) for m in built.problem.members if m.holds is not None}
    pairs |= {(c.member, c.spot) for c in built.problem.backups}
    if with_plan:
        lessons = Lesson.objects.filter(plan__event=built.event)
        pairs |= {(key(m), key(s)) for m, s in lessons.values_list("member_id", "spot_id")}
    return frozenset(pairs | _practised(built))


def _practised(built: Built) -> set[tuple[str, str]]:
    sizes = {show: len(drill.sets) for show, drill in built.drills.shows.items() if drill.sets}
    shares: dict[tuple[str, str], dict[int, float]] = defaultdict(dict)
    for (member, show), by_spot in built.practised.sets.items():
        for spot, sets in by_spot.items():
            if show in sizes:
                shares[key(member), key(spot)][show] = len(sets) / sizes[show]
    return {
        pair
        for pair, found in shares.items()
        if all(found.get(show, 0.0) >= KNOWS_FROM for show in sizes)
    }
