"""The lineup that a travel list is about, and who marches in it."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cached_property

from bandops.lib.errors import Refused
from drill.absences.core import availability as states
from drill.backups.core.usual import UsualChance
from drill.backups.services.usual_chance import usual_chance
from drill.events.enums import TravelRole
from drill.events.models import Event
from drill.lineup import queries as lineup_queries
from drill.lineup.core import problem as core
from drill.lineup.core.solver import ContradictoryPins, NoLineup, OutOfWork, solve
from drill.lineup.models import Lineup
from drill.lineup.services.problem_builder import Built, build
from drill.lineup.services.proposals import LIMITS, placements_of
from drill.lineup.services.settling import settle
from drill.travel.core import travel, trips

NO_LINEUP = "No lineup fits both the pins and blocks and the travel limit: check Who marches first."


@dataclass(frozen=True)
class Marching:
    """The lineup that a travel list is about, judged as if nobody stayed at home; ``lineup`` is
    None where it is the solver's proposal. ``emptied``: (segment, spot) whose marchers can no
    longer march; ``published``: the newest revision where ``lineup`` is a draft beside it."""

    built: Built
    placements: tuple[core.Placement, ...]
    lineup: Lineup | None
    emptied: tuple[tuple[str, str], ...] = ()
    published: Lineup | None = None

    @cached_property
    def usual(self) -> UsualChance:
        """The chance that a member with nothing reported is out."""
        return usual_chance(self.built.event.season, self.built.event.date)

    @cached_property
    def trip(self) -> trips.Trip:
        usual = self.usual.value
        chances = {seat: _chance(s, usual) for seat, s in self.built.standings.items()}
        return travel.trip(self.built.problem, self.placements, chances)

    @cached_property
    def spots(self) -> Mapping[str, Mapping[str, list[str]]]:
        """Member -> spot -> segments."""
        return travel.spots_of(self.placements)

    @cached_property
    def must(self) -> frozenset[str]:
        return frozenset(m.key for m in self.built.problem.members if m.must_travel)

    def role(self, member: str) -> TravelRole:
        """As what the member comes."""
        if member in self.spots:
            return TravelRole.MARCHES
        return TravelRole.MUST if member in self.must else TravelRole.BACKUP

    def where(self, member: str) -> str:
        """The spots the member marches: '1-3', or '1-3 (Pregame)' when not in every segment."""
        segments = len(self.built.problem.segments)
        words = []
        for spot, marched in self.spots.get(member, {}).items():
            names = ", ".join(self.built.segments[g].name for g in marched)
            label = self.built.spots[spot].label
            words.append(label if len(marched) == segments else f"{label} ({names})")
        return ", ".join(words)


def _chance(standing: states.Standing, usual: float) -> float:
    if standing.state is states.State.IN:
        return usual
    return float(standing.chance)


def marching(event: Event) -> Marching:
    """The draft, else the newest revision, else the proposal; Refused when there can be none."""
    built = build(event, by_travel_list=False)
    draft, published = lineup_queries.draft(event), lineup_queries.published(event)
    lineup = draft or published
    if lineup is not None:
        placements, emptied = settle(built, placements_of(lineup))
        beside = published if draft is not None else None
        return Marching(built, placements, lineup, tuple(emptied), beside)
    try:
        return Marching(built, solve(built.problem, limits=LIMITS).placements, None)
    except (ContradictoryPins, NoLineup, OutOfWork) as error:
        raise Refused(NO_LINEUP) from error


def chosen(it: Marching) -> dict[str, TravelRole]:
    """Every marcher, whoever must travel, then backups as far as the limit goes."""
    along = it.trip.marchers | it.must
    backups = travel.fill(it.built.problem, it.trip, along, room_left(it, along))
    return {member: it.role(member) for member in sorted(along | set(backups))}


def room_left(it: Marching, along: Collection[str]) -> int | None:
    """How many more may travel; None without a limit."""
    limit = it.built.problem.travel_limit
    return None if limit is None else max(0, limit - len(along))


def is_away(now: Marching, who: str) -> bool:
    """True when they are away in every marching segment."""
    member = next(m for m in now.built.problem.members if m.key == who)
    return bool(member.away) and len(member.away) == len(now.built.problem.segments)
