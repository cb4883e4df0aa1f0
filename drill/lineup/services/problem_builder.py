"""The one place where rows become a lineup problem."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

from bandops.lib.audit.unchanged import while_unchanged
from bandops.lib.keys import key
from drill.absences.core import availability as states
from drill.absences.services.doubtful import Doubtful, doubtful_of
from drill.events.models import Event, Segment
from drill.lineup import queries
from drill.lineup.core import canonical
from drill.lineup.core import problem as core
from drill.lineup.core.problem import Placement
from drill.lineup.core.relearn import Load
from drill.lineup.services import facts
from drill.lineup.services.relearning import Drills, Practised
from drill.lineup.services.rows import Rows, rows_to_show
from drill.shows.models import ShowVersion
from roster.people.models import Member
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Built:
    """A problem with the rows it was made from."""

    problem: core.LineupProblem
    event: Event
    segments: dict[str, Segment]
    spots: dict[str, Spot]
    members: dict[str, Member]
    standings: dict[tuple[str, str], states.Standing]
    """(member, segment) -> availability, for every segment of the event, stands included"""
    returnable: frozenset[str]
    """members away only by absence: cleared and eligible, so their return may be named"""
    versions: dict[int, ShowVersion]
    drills: Drills
    practised: Practised
    at_home: frozenset[str] = frozenset()
    """members who are not on the posted travel list, and so away for the whole event"""
    absent: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """member -> marching segments they miss for reasons of their own; nobody who misses none"""
    loads: Mapping[tuple[str, str, str], Load] = field(default_factory=dict)
    """(member, spot, show) -> what the spot would ask of the member"""
    over: frozenset[str] = frozenset()
    """segments that are over, of which a lineup was published: nothing changes them any more"""

    @cached_property
    def to_come(self) -> core.LineupProblem:
        """The problem of what is not over: what may still be decided."""
        if not self.over:
            return self.problem
        left = {g.key for g in self.problem.segments} - self.over
        return core.of_segments(self.problem, left)

    def still(self, placements: Iterable[Placement]) -> tuple[Placement, ...]:
        """The placements without those of segments that are over."""
        return tuple(p for p in placements if p.segment not in self.over)

    @cached_property
    def facts_hash(self) -> str:
        """Equal as long as the facts are, the field and the spots' dots among them; the
        reference moves with every publication."""
        facts = self._hashes[1]
        dots = {show: sorted(at.items()) for show, at in sorted(self.drills.dots.items())}
        text = json.dumps([facts, self.event.field_type, dots])
        return hashlib.sha256(text.encode()).hexdigest()

    @cached_property
    def problem_hash(self) -> str:
        return self._hashes[0]

    @cached_property
    def _hashes(self) -> tuple[str, str]:
        return canonical.problem_hashes(self.problem)

    @cached_property
    def _ranks(self) -> dict[str, str]:
        return {s.key: s.rank for s in self.problem.spots}

    def problem_part(self, spot: str) -> str:
        """The part's key of a spot's key."""
        return key(self.spots[spot].part_id)

    def problem_rank(self, spot: str) -> str:
        """The rank's key of a spot's key; the spot's own when it is gone."""
        return self._ranks.get(spot, spot)

    def usual_instrument(self, member: str, spot: str) -> str:
        """The name of the instrument that a member usually plays, where the spot asks another."""
        kinds = {p.key: p.instrument for p in self.problem.parts}
        skills = self.members[member].skills  # type: ignore[attr-defined]
        usual = next((q.part for q in skills if q.main), None)
        if usual is None or kinds[key(usual.pk)] == kinds[self.problem_part(spot)]:
            return ""
        return str(usual.instrument)

    def load(self, member: str, spot: str, segment: str) -> Load | None:
        """What a spot asks of a member in a segment's show; None where it has no coordinates."""
        return self.loads.get((member, spot, key(self.segments[segment].show_id or 0)))

    def is_doubtful(self, member: str, segment: str) -> bool:
        """Placed, though they may be out."""
        standing = self.standings.get((member, segment))
        return standing is not None and standing.state is states.State.DOUBTFUL


def doubtful_in(built: Built) -> list[Doubtful]:
    """The doubtful among the members of a problem, without those who stay at home."""
    people = [m for name, m in built.members.items() if name not in built.at_home]
    return doubtful_of(built.event, people, built.standings)


def away_from(event: Event, member: Member) -> frozenset[str] | None:
    """The marching segments that a member misses as the data stand now, read without the rest of
    the problem; None of somebody who takes no part."""
    rows = Rows(event)
    return facts.away(rows, member) if member.pk in rows.known else None


def build(event: Event, *, by_travel_list: bool = True) -> Built:
    """The event's lineup problem as the data stand now (a fixed number of queries).

    Whoever is not on the posted travel list is away, unless the list itself is to be judged.
    """
    return _built(Rows(event, by_travel_list))


def _built(rows: Rows) -> Built:
    return Built(
        facts.problem(rows),
        rows.event,
        {key(s.pk): s for s in rows.segments},
        {key(s.pk): s for s in rows.spots},
        {key(m.pk): m for m in rows.members},
        rows.standings,
        frozenset(key(pk) for pk in rows.ready - rows.at_home),
        rows.versions,
        rows.drills,
        rows.practised,
        frozenset(key(pk) for pk in rows.at_home),
        {key(pk): missed for pk, missed in rows.absent.items() if missed},
        rows.loads,
        frozenset(key(pk) for pk in rows.over),
    )


def build_to_show(event: Event) -> Built:
    """The same, kept while nothing is written, for pages that only show it. What is over follows
    from the clock."""
    over = queries.segments_over(event)
    return while_unchanged(("built", event.pk, over), lambda: _built(rows_to_show(event)))
