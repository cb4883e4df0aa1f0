"""The event as a plan sees it, scenarios of who is out, and the holes that lessons leave.

Spots of all segments count once: a member who is out misses the whole event, and who may march a
spot in one segment is taken to do so in all. Stock and travel are not looked at.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from drill.backups.core.backup_plan.matchings import Matchings
from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.backups.core.coverage.result import Lesson
from drill.lineup.core.problem import Member, Pool, Spot

Place = tuple[str, str]
"""(spot, the member who marches it)"""


@dataclass(frozen=True)
class Event:
    """Who stands where, who knows what, and who could learn what; members and spots by key.

    ``places`` are spots with their members; ``knows`` and ``may_learn`` map a member to the
    places of others that they know, or may march and could learn. Who marches different spots
    in different segments stays with those.
    """

    members: dict[str, Member]
    spots: dict[str, Spot]
    places: tuple[Place, ...]
    knows: dict[str, tuple[Place, ...]]
    may_learn: dict[str, tuple[Place, ...]]
    chances: dict[str, float]
    pool: Pool = Pool.RANK

    @classmethod
    def of(cls, ground: Ground, learners: frozenset[str], chances: Mapping[str, float]) -> Event:
        people, arcs = ground.problem.members, ground.arcs
        occupant = ground.occupant.tolist()
        place_of = {
            j: (arcs.seats[j][1], people[i].key) for j, i in enumerate(occupant) if i != NOBODY
        }
        places = tuple(sorted(set(place_of.values())))
        homes = Counter(member for _, member in places)

        def pairs(members: Iterable[int], seats: Iterable[int]) -> dict[str, tuple[Place, ...]]:
            found: dict[str, set[Place]] = {}
            for i, j in zip(members, seats, strict=True):
                if j in place_of and i != occupant[j] and homes[people[i].key] < 2:
                    found.setdefault(people[i].key, set()).add(place_of[j])
            return {m: tuple(sorted(found[m])) for m in sorted(found)}

        lacking = pairs(ground.unknown[0].tolist(), ground.unknown[1].tolist())
        return cls(
            {m.key: m for m in people},
            {s.key: s for s in ground.problem.spots},
            places,
            pairs(ground.member.tolist(), ground.seat.tolist()),
            {m: places for m, places in lacking.items() if m in learners},
            {m.key: min(max(chances.get(m.key, 0.0), 0.0), 1.0) for m in people},
            ground.problem.settings.pool,
        )

    @cached_property
    def movers(self) -> frozenset[str]:
        """Members with a spot who know or could learn another."""
        return frozenset(m for _, m in self.places) & (self.knows.keys() | self.may_learn.keys())

    def places_of(self, lesson: Lesson) -> tuple[Place, ...]:
        """The places that a lesson is worth something for; none where it is against the rules."""
        possible = self.may_learn.get(lesson.member, ())
        return tuple(place for place in possible if place[0] == lesson.spot)


@dataclass(frozen=True)
class Scenarios:
    """Scenarios as bits: ``out`` says for each member in which ones they are out."""

    event: Event
    count: int
    out: dict[str, int]

    @classmethod
    def draw(cls, event: Event, count: int, seed: int, stream: int) -> Scenarios:
        """Independent absences; different streams of a seed share nothing."""
        rng = np.random.default_rng(np.random.SeedSequence([seed, stream]))
        out = {}
        for member, chance in sorted(event.chances.items()):
            row = np.packbits(rng.random(count) < chance, bitorder="little")
            out[member] = int.from_bytes(row.tobytes(), "little")
        return cls(event, count, out)

    def start(self) -> Board:
        """The matchings with what members know already."""
        event, every = self.event, (1 << self.count) - 1
        people = sorted(event.knows.keys() | event.may_learn.keys())
        here = [every & ~self.out[m] for m in people]
        wanted = [every if m in event.movers else self.out[m] for _, m in event.places]
        board = Board(
            self,
            Matchings([*here, *wanted]),
            {m: n for n, m in enumerate(people)},
            {place: len(people) + n for n, place in enumerate(event.places)},
        )
        for place in event.places:
            if place[1] in event.movers:
                board.add(place[1], (place,))
        for member, places in event.knows.items():
            board.add(member, places)
        return board


@dataclass
class Board:
    """The matchings of a set of scenarios, with the nodes of members and places."""

    scenarios: Scenarios
    matchings: Matchings
    member: dict[str, int]
    place: dict[Place, int]

    def add(self, member: str, places: Iterable[Place]) -> None:
        for place in places:
            self.matchings.add(self.member[member], self.place[place])

    def teach(self, lessons: Iterable[Lesson]) -> Board:
        """Put lessons in; the board itself."""
        for lesson in sorted(lessons):
            self.add(lesson.member, self.scenarios.event.places_of(lesson))
        return self

    @property
    def holes(self) -> int:
        """Holes over all scenarios."""
        return sum(self.matchings.open[node].bit_count() for node in self.place.values())

    def holes_by_scenario(self) -> npt.NDArray[np.int64]:
        """The holes of each scenario."""
        count = self.scenarios.count
        total = np.zeros(count, np.int64)
        for node in self.place.values():
            row = self.matchings.open[node].to_bytes((count + 7) // 8, "little")
            bits = np.unpackbits(np.frombuffer(row, np.uint8), count=count, bitorder="little")
            total += bits
        return total
