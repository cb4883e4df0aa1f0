"""A travel list in numbers: people, dots left, chances, who is missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from drill.events.enums import TravelRole
from drill.travel.core.trips import Outlook
from drill.travel.services.marching import Marching
from drill.travel.services.travel_faults import missing
from roster.people.models import Member


@dataclass(frozen=True)
class Tally:
    """A list, or what it would be: its numbers against the lineup as it stands."""

    now: Marching
    roles: Mapping[str, TravelRole]
    gone: tuple[Member, ...] = field(default=())
    """on the list, but no longer active"""

    @cached_property
    def along(self) -> frozenset[str]:
        return frozenset(self.roles)

    @property
    def limit(self) -> int | None:
        return self.now.built.problem.travel_limit

    @property
    def people(self) -> int:
        return len(self.roles) + len(self.gone)

    def count(self, role: TravelRole) -> int:
        return sum(1 for r in self.roles.values() if r == role)

    @property
    def marchers(self) -> int:
        return self.count(TravelRole.MARCHES)

    @property
    def backups(self) -> int:
        return self.count(TravelRole.BACKUP)

    @property
    def must(self) -> int:
        return self.count(TravelRole.MUST)

    @property
    def left(self) -> int | None:
        """Dots left; negative when there are too many people."""
        return None if self.limit is None else self.limit - self.people

    @property
    def full(self) -> bool:
        return self.left is not None and self.left < 1

    @property
    def over(self) -> int:
        return max(0, -(self.left or 0))

    @cached_property
    def outlooks(self) -> dict[str, Outlook]:
        """Segment -> its chances with this list."""
        return {leg.segment: leg.outlook(self.along) for leg in self.now.trip.legs}

    @property
    def worst(self) -> tuple[str, float] | None:
        """The segment in which most spots are expected to open, empty where all are alike, and
        how many."""
        if not self.outlooks:
            return None
        segment, outlook = max(self.outlooks.items(), key=lambda item: item[1].open_spots)
        alike = len({round(o.open_spots, 1) for o in self.outlooks.values()}) == 1
        return "" if alike else self.now.built.segments[segment].name, outlook.open_spots

    @property
    def holes(self) -> int:
        """Spots that the lineup leaves open in some segment, whoever travels."""
        return len({p.spot for p in self.now.placements if p.member is None})

    @property
    def half_width(self) -> float:
        """Points of percent either way, where chances are drawn and not exact."""
        return 100 * max((o.half_width for o in self.outlooks.values()), default=0.0)

    @property
    def rough(self) -> bool:
        return any(o.rough for o in self.outlooks.values())

    @cached_property
    def missing(self) -> list[tuple[Member, str]]:
        """Marchers who are not on the list, with their spots."""
        absent = missing(self.now, self.along)
        return [(self.now.built.members[m], self.now.where(m)) for m in absent]

    @cached_property
    def missing_must(self) -> list[Member]:
        return [self.now.built.members[m] for m in sorted(self.now.must - self.along)]
