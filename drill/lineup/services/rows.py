"""The rows that a lineup problem is made of, each read once."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from bandops.lib.audit.unchanged import while_unchanged
from bandops.lib.keys import key
from bandops.lib.ties import merged
from drill.absences.core import availability as states
from drill.absences.services.standings import segment_slots, standings
from drill.events import queries as event_queries
from drill.events.enums import MARCHING
from drill.events.models import Event, Segment
from drill.lineup import queries
from drill.lineup.core.lessons import Lessons
from drill.lineup.services.relearning import (
    Drills,
    Home,
    Loads,
    Practised,
    home_of,
    lessons_of,
    read_drills,
    read_practised,
)
from drill.lineup.ties import SHARES
from drill.outfits.services.wardrobe import Dress, Wardrobe, wardrobe_of
from drill.shows.models import ShowVersion
from drill.shows.queries import dots_of
from roster.equipment.queries import usable_instruments
from roster.people import queries as people_queries
from roster.people.models import Member, Part, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Rows:
    """An event's rows as they stand now. Whoever is not on the posted travel list is away,
    unless the list itself is to be judged."""

    event: Event
    by_travel_list: bool = True

    @property
    def season(self) -> Season:
        return self.event.season

    @cached_property
    def segments(self) -> list[Segment]:
        return list(self.event.segments.all())

    @cached_property
    def marching(self) -> list[Segment]:
        return [segment for segment in self.segments if segment.kind in MARCHING]

    @cached_property
    def over(self) -> frozenset[int]:
        return queries.segments_over(self.event, self.segments)

    @cached_property
    def members(self) -> list[Member]:
        return list(people_queries.active_members(self.season))

    @cached_property
    def known(self) -> set[int]:
        """Ids of the members; orders and backups may still name others."""
        return {member.pk for member in self.members}

    @cached_property
    def spots(self) -> list[Spot]:
        return list(rank_queries.spots(self.season))

    @cached_property
    def seats_of(self) -> dict[str, tuple[str, ...]]:
        """Marching segment -> its spots."""
        spots = tuple(key(spot.pk) for spot in self.spots)
        return {key(segment.pk): spots for segment in self.marching}

    @cached_property
    def holders(self) -> dict[int, int]:
        """Member id -> the spot they hold on the day."""
        held = rank_queries.holders_on(self.season, self.event.date)
        return {member: spot for spot, member in held.items()}

    @cached_property
    def standings(self) -> dict[tuple[str, str], states.Standing]:
        """(member, segment) -> availability, for every segment, stands included."""
        slots = segment_slots(self.event, self.segments)
        return standings(self.event, slots, self.members)

    @cached_property
    def parts(self) -> list[Part]:
        return list(people_queries.parts(self.season))

    @cached_property
    def wardrobe(self) -> Wardrobe:
        """Who has what is worn, and which spare pieces there are."""
        return wardrobe_of(self.event, self.marching, self.members, self.parts)

    @cached_property
    def dress(self) -> Dress:
        """The same as the problem says it."""
        return self.wardrobe.dress()

    @cached_property
    def stock(self) -> dict[int, int]:
        """Instrument id -> the school's that can be played, where the store counts them."""
        return usable_instruments(self.season, self.season.today(), self.event.date)

    @cached_property
    def must_travel(self) -> set[int]:
        return set(self.event.must_travel.values_list("pk", flat=True))

    @cached_property
    def shares(self) -> dict[int, int]:
        """Member id -> percent of their chances in which they marched."""
        return merged(SHARES.ask(self.season, self.event.date))

    @cached_property
    def ready(self) -> set[int]:
        """Members who are cleared and eligible on the day."""
        return {m.pk for m in self.members if m.may_march_on(self.event.date)}

    @cached_property
    def at_home(self) -> set[int]:
        """Members who are not on the posted travel list, and so away for the whole event."""
        along = event_queries.travellers(self.event) if self.by_travel_list else None
        return set() if along is None else self.known - along

    @cached_property
    def absent(self) -> dict[int, frozenset[str]]:
        """Member id -> marching segments they miss for reasons of their own."""
        return {pk: self._missed_by(pk) for pk in self.known}

    def _missed_by(self, pk: int) -> frozenset[str]:
        if pk not in self.ready:
            return frozenset(self.seats_of)
        out_from = self.season.doubtful_out_from
        at = {segment: self.standings[key(pk), segment] for segment in self.seats_of}
        return frozenset(s for s, standing in at.items() if standing.is_away(out_from))

    @cached_property
    def versions(self) -> dict[int, ShowVersion]:
        """Show id -> the version that the event marches."""
        shows = {segment.show_id for segment in self.marching if segment.show_id}
        return event_queries.current_versions(shows, self.event)

    @cached_property
    def drills(self) -> Drills:
        dots = {show: dots_of(show, self.spots) for show in self.versions}
        return read_drills(self.season, self.versions, dots)

    @cached_property
    def homes(self) -> dict[int, Home]:
        """Member id -> where they are at home."""
        spot_of = {spot.pk: spot for spot in self.spots}
        return {m.pk: home_of(m, spot_of.get(self.holders.get(m.pk, 0))) for m in self.members}

    @cached_property
    def plays(self) -> dict[int, list[Spot]]:
        """Member id -> the spots of the parts they play."""
        by_part: dict[int, list[Spot]] = defaultdict(list)
        for spot in self.spots:
            by_part[spot.part_id].append(spot)
        return {
            m.pk: [spot for skill in m.skills for spot in by_part[skill.part_id]]  # type: ignore[attr-defined]
            for m in self.members
        }

    @cached_property
    def practised(self) -> Practised:
        return read_practised(self.season, self.drills, self.plays)

    @cached_property
    def loads(self) -> Loads:
        """(member, spot, show) -> what the spot would ask of the member."""
        return Loads(self.drills, self.practised, self.homes, self.plays)

    @cached_property
    def lessons(self) -> Lessons:
        """What spots cost the members who play their part."""
        return lessons_of(self.drills, self.practised, self.homes, self.plays)


LASTING = (
    *("parts", "dress", "stock"),
    *("members", "known", "spots", "seats_of", "holders", "must_travel", "ready", "versions"),
    *("drills", "homes", "plays", "practised", "lessons"),
)
"""what does not depend on who is absent"""
ABSENCES = ("absences_absence",)


def rows_to_show(event: Event) -> Rows:
    """The same, what lasts kept while nothing but absences is written, for pages that only show
    it."""

    def read() -> dict[str, Any]:
        rows = Rows(event)
        return {name: getattr(rows, name) for name in LASTING}

    rows = Rows(event)
    # Where a cached property looks first.
    rows.__dict__.update(
        while_unchanged(("rows", event.pk, event.season.today()), read, besides=ABSENCES)
    )
    return rows
