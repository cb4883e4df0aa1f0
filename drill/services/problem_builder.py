"""The one place where rows become a lineup problem."""

from __future__ import annotations

import datetime
import hashlib
import json
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

from drill import queries
from drill.core import availability as states
from drill.core import problem as core
from drill.core.relearn import Load
from drill.enums import MARCHING, EventKind
from drill.models import Absence, Event, Lineup, PlaceMap, Segment, ShowVersion
from drill.services.relearning import (
    Drills,
    Home,
    LoadKey,
    Practised,
    cost_of,
    home_of,
    loads_of,
    read_drills,
    read_practised,
)
from roster import queries as roster
from roster.models import Member, Spot

EXPERIENCED_YEARS = 2


def key(pk: int) -> str:
    """A row's key in the problem: sorts like the number."""
    return f"{pk:07d}"


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

    @cached_property
    def facts_hash(self) -> str:
        """Equal as long as the facts are, the field and the spots' places among them; the
        reference moves with every publication."""
        facts = core.problem_hash(replace(self.problem, reference=()))
        places = {show: sorted(at.items()) for show, at in sorted(self.drills.places.items())}
        text = json.dumps([facts, self.event.field_type, places])
        return hashlib.sha256(text.encode()).hexdigest()

    @cached_property
    def problem_hash(self) -> str:
        return core.problem_hash(self.problem)

    @cached_property
    def _ranks(self) -> dict[str, str]:
        return {s.key: s.rank for s in self.problem.spots}

    def problem_part(self, spot: str) -> str:
        """The part's key of a spot's key."""
        return key(self.spots[spot].part_id)

    def problem_rank(self, spot: str) -> str:
        """The rank's key of a spot's key; the spot's own when it is gone."""
        return self._ranks.get(spot, spot)

    def load(self, member: str, spot: str, segment: str) -> Load | None:
        """What a spot asks of a member in a segment's show; None where it has no coordinates."""
        return self.loads.get((member, spot, key(self.segments[segment].show_id or 0)))

    def is_doubtful(self, member: str, segment: str) -> bool:
        """Placed, though they may be out."""
        standing = self.standings.get((member, segment))
        return standing is not None and standing.state is states.State.DOUBTFUL


def build(event: Event, *, by_travel_list: bool = True) -> Built:
    """The event's lineup problem as the data stand now (a fixed number of queries).

    Whoever is not on the posted travel list is away, unless the list itself is to be judged.
    """
    season = event.season
    segments = list(event.segments.all())
    marching = [s for s in segments if s.kind in MARCHING]
    members = list(roster.active_members(season))
    spots = list(roster.spots(season))
    holders = {m: s for s, m in roster.holders_on(season, event.date).items()}
    standings = _standings(event, [slot_of(event, s) for s in segments], members)
    pins, bars, opens = queries.orders(event)
    seats_of = {key(s.pk): tuple(key(x.pk) for x in spots) for s in marching}
    versions = queries.current_versions({s.show_id for s in marching if s.show_id}, event)
    turns = queries.turns(season, event.date)
    out_from = season.doubtful_out_from
    must = set(event.must_travel.values_list("pk", flat=True))
    ready = {m.pk: m.may_march_on(event.date) for m in members}
    spot_ranks = {s.pk: key(s.rank_id) for s in spots}
    along = queries.travellers(event) if by_travel_list else None
    at_home = {m.pk for m in members if along is not None and m.pk not in along}

    def misses(member: Member) -> frozenset[str]:
        if not ready[member.pk]:
            return frozenset(seats_of)
        at = {g: standings[key(member.pk), g] for g in seats_of}
        return frozenset(g for g, standing in at.items() if standing.is_away(out_from))

    absent = {m.pk: misses(m) for m in members}
    away = absent | dict.fromkeys(at_home, frozenset(seats_of))
    people = tuple(
        _member(m, holders.get(m.pk), spot_ranks, away[m.pk], m.pk in must, turns.get(m.pk, 0))
        for m in members
    )
    known = {m.pk for m in members}
    spot_of = {s.pk: s for s in spots}
    homes = {m.pk: home_of(m, spot_of.get(holders.get(m.pk, 0))) for m in members}
    plays = _plays(members, spots)
    drills = read_drills(season, versions, {show: places_of(show, spots) for show in versions})
    practised = read_practised(season, drills, plays)
    loads = loads_of(drills, practised, homes, plays)
    problem = core.LineupProblem(
        members=people,
        spots=tuple(
            core.Spot(key(s.pk), key(s.rank_id), key(s.part_id), s.weight, s.needs_experience)
            for s in spots
        ),
        segments=tuple(core.Segment(g, seats) for g, seats in seats_of.items()),
        parts=tuple(core.Part(key(p.pk), key(p.instrument_id)) for p in roster.parts(season)),
        ranks=tuple(
            core.Rank(key(r.pk), tuple(key(i) for i in (r.leader_id, r.second_id) if i))
            for r in roster.ranks(season)
        ),
        reference=_reference(event, marching, holders, known),
        pins=tuple(
            core.Pin(g, key(p.spot_id), key(p.member_id))
            for p in pins
            for g in _segments_of(p.segment_id, seats_of)
            if p.member_id in known
        ),
        bars=tuple(
            core.Bar(
                key(b.member_id),
                key(b.segment_id) if b.segment_id else None,
                key(b.spot_id) if b.spot_id else None,
            )
            for b in bars
        ),
        left_open=frozenset(
            (g, key(o.spot_id)) for o in opens for g in _segments_of(o.segment_id, seats_of)
        ),
        covers=tuple(
            core.Cover(key(c.spot_id), key(c.member_id), c.order)
            for c in queries.covers(season)
            if c.member_id in known
        ),
        relearning=_relearning(homes, plays, sorted(versions), loads),
        stock=tuple(
            (key(i.pk), i.school_stock)
            for i in roster.instruments(season)
            if i.school_stock is not None
        ),
        travel_limit=event.travel_limit,
        settings=core.Settings(season.use_weights, season.fairness_before_standing),
    )
    return Built(
        problem,
        event,
        {key(s.pk): s for s in segments},
        {key(s.pk): s for s in spots},
        {key(m.pk): m for m in members},
        standings,
        frozenset(key(m.pk) for m in members if ready[m.pk] and m.pk not in at_home),
        versions,
        drills,
        practised,
        frozenset(key(pk) for pk in at_home),
        {key(pk): segments for pk, segments in absent.items() if segments},
        {(key(m), key(s), key(show)): load for (m, s, show), load in loads.items()},
    )


def _segments_of(segment_id: int | None, seats_of: dict[str, tuple[str, ...]]) -> list[str]:
    return list(seats_of) if segment_id is None else [g for g in seats_of if g == key(segment_id)]


def _member(
    member: Member,
    spot_id: int | None,
    spot_ranks: dict[int, str],
    away: frozenset[str],
    must_travel: bool,
    turns: int,
) -> core.Member:
    place = getattr(member, "alternate_place", None)
    return core.Member(
        key=key(member.pk),
        skills=tuple(core.Skill(key(q.part_id), q.own_instrument) for q in member.skills),  # type: ignore[attr-defined]
        holds=key(spot_id) if spot_id else None,
        rank=spot_ranks[spot_id] if spot_id else key(place.rank_id) if place else None,
        standing=place.standing if place and not spot_id else None,
        standing_part=key(place.part_id) if place and not spot_id else None,
        experienced=member.years_marched >= EXPERIENCED_YEARS,
        away=away,
        must_travel=must_travel,
        turns=turns,
    )


def _standings(
    event: Event, slots: list[states.Slot], members: list[Member]
) -> dict[tuple[str, str], states.Standing]:
    entries: dict[int, list[states.Entry]] = defaultdict(list)
    for absence in queries.absences_at(event):
        entries[absence.member_id].append(entry_of(absence))
    return {
        (key(m.pk), key(slot.key)): states.standing(slot, entries.get(m.pk, ()))
        for m in members
        for slot in slots
    }


def standings_of(event: Event, member: Member) -> dict[int, states.Standing]:
    """Segment id -> the member's availability."""
    segments = list(event.segments.all())
    found = _standings(event, [slot_of(event, s) for s in segments], [member])
    return {s.pk: found[key(member.pk), key(s.pk)] for s in segments}


def away_from(event: Event, members: Iterable[Member]) -> dict[int, set[int]]:
    """Member id -> ids of the segments they are entered away from; clearance is not asked."""
    segments, people = list(event.segments.all()), list(members)
    standings = _standings(event, [slot_of(event, s) for s in segments], people)
    out_from = event.season.doubtful_out_from
    return {
        m.pk: {s.pk for s in segments if standings[key(m.pk), key(s.pk)].is_away(out_from)}
        for m in people
    }


def slot_of(event: Event, segment: Segment) -> states.Slot:
    """A segment as the availability rules see it."""
    return states.Slot(segment.pk, event.pk, event.date, segment.starts, segment.ends)


def slots_of(event: Event) -> list[states.Slot]:
    """What of an event a member can miss: its segments and a rehearsal's blocks, else the day."""
    slots = [slot_of(event, s) for s in event.segments.all()]
    if event.kind == EventKind.REHEARSAL:
        # Entries never name a block, so a key that no segment has keeps them apart.
        slots += [
            states.Slot(-b.pk, event.pk, event.date, b.starts, b.ends) for b in event.blocks.all()
        ]
    day = states.Slot(0, event.pk, event.date, datetime.time.min, datetime.time.max)
    return slots or [day]


def entry_of(absence: Absence) -> states.Entry:
    """An absence as the availability rules see it."""
    return states.Entry(
        absence.pk,
        states.Said(absence.kind),
        absence.event_id,
        absence.segment_id,
        absence.from_date,
        absence.until_date,
        absence.late_until,
        absence.leaves_at,
        absence.chance,
    )


def availability(event: Event, members: Iterable[Member]) -> dict[int, str]:
    """Member id -> 'available', 'doubtful', 'unavailable' or 'in part', over the whole event."""
    slots = slots_of(event)
    people = list(members)
    along = queries.travellers(event)
    standings = _standings(event, slots, people)
    out_from = event.season.doubtful_out_from
    found = {}
    for member in people:
        mine = [standings[key(member.pk), key(slot.key)] for slot in slots]
        away = [standing.is_away(out_from) for standing in mine]
        at_home = along is not None and member.pk not in along
        if at_home or not member.may_march_on(event.date) or (away and all(away)):
            found[member.pk] = "unavailable"
        elif any(away):
            found[member.pk] = "in part"
        elif any(s.state is states.State.DOUBTFUL for s in mine):
            found[member.pk] = "doubtful"
        else:
            found[member.pk] = "available"
    return found


def _reference(
    event: Event, marching: list[Segment], holders: dict[int, int], known: set[int]
) -> tuple[tuple[core.Seat, str], ...]:
    """The last published revision of this event, else the holders."""
    last = queries.published(event)
    if last is None:
        return tuple(
            ((key(g.pk), key(spot)), key(member))
            for g in marching
            for member, spot in holders.items()
            if member in known
        )
    rows = last.rows.filter(member__isnull=False).values_list("segment_id", "spot_id", "member_id")
    return tuple(((key(g), key(s)), key(m)) for g, s, m in rows if m in known)


def _plays(members: list[Member], spots: list[Spot]) -> dict[int, list[Spot]]:
    """Member id -> the spots of the parts they play."""
    by_part: dict[int, list[Spot]] = defaultdict(list)
    for spot in spots:
        by_part[spot.part_id].append(spot)
    return {
        m.pk: [spot for skill in m.skills for spot in by_part[skill.part_id]]  # type: ignore[attr-defined]
        for m in members
    }


def _relearning(
    homes: Mapping[int, Home],
    plays: Mapping[int, list[Spot]],
    shows: list[int],
    loads: Mapping[LoadKey, Load],
) -> tuple[tuple[str, str, int], ...]:
    """The measure for every member and spot of a part they play, averaged over the shows."""
    return tuple(
        (
            key(member),
            key(spot.pk),
            cost_of([loads[member, spot.pk, show] for show in shows], homes[member], spot),
        )
        for member, mine in plays.items()
        for spot in mine
        if spot.pk != homes[member].spot
    )


def places_of(show_id: int, spots: Iterable[Spot], lineup: Lineup | None = None) -> dict[int, str]:
    """Spot id -> label of the place it marches in the show; in a published ``lineup``, as it was
    when that came out."""
    if lineup is not None and lineup.number is not None:
        kept = lineup.places.get(str(show_id), {})
        return {s.pk: kept.get(str(s.pk), s.label) for s in spots}
    mapped = dict(PlaceMap.objects.filter(show_id=show_id).values_list("spot_id", "place__label"))
    return {s.pk: mapped.get(s.pk, s.label) for s in spots}
