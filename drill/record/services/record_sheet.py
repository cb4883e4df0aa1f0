"""An event's sheet of turns, guessed from the lineup, the attendance and the absences."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from drill.absences.services.standings import away_from
from drill.events.enums import MARCHING, TravelState
from drill.events.models import Event, Segment, Traveller, TravelList
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup, LineupRow
from drill.record.core.record import Outcome, first_guess
from drill.rehearsals.core.presence import Presence
from drill.rehearsals.services.presence import presences, was_in
from roster.people import queries as people_queries
from roster.people.enums import MemberStatus
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Choice:
    """What a member did in a segment; marching names the spot."""

    outcome: Outcome
    spot: int | None = None

    @property
    def value(self) -> str:
        """As forms carry it: 'stood by', 'marched:17'."""
        return self.outcome.value + (f":{self.spot}" if self.spot else "")


Cell = tuple[int, int]
"""(segment id, member id)"""


@dataclass(frozen=True)
class Sheet:
    """An event's record as lineup, attendance and absences have it, before anybody confirmed."""

    event: Event
    lineup: Lineup
    segments: tuple[Segment, ...]
    members: Mapping[int, Member]
    guesses: Mapping[Cell, Choice]
    placed: Mapping[Cell, Spot]
    ranks: Mapping[int, int | None]
    """member id -> the rank they are listed under; None for no rank"""
    noted: Mapping[int, Presence]
    """member id -> what the attendance says, for whom anybody noted"""


def sheet(event: Event, lineup: Lineup) -> Sheet:
    """Everybody who is active or placed, in every segment that marches (fixed queries)."""
    segments = tuple(s for s in event.segments.all() if s.kind in MARCHING)
    rows = lineup_queries.rows(lineup).filter(member__isnull=False, segment__kind__in=MARCHING)
    placed = _placed(rows, people_queries.merged_members(event.season))
    stands = {member for _, member in placed}
    members = {
        m.pk: m
        for m in people_queries.members(event.season)
        if m.status == MemberStatus.ACTIVE or m.pk in stands
    }
    held = homes(event, members.values())
    noted = {pk: found for (_, pk), found in presences([event]).items()}
    missing = _missing(event, segments, members, placed.keys(), noted)
    guesses = {}
    for cell in ((s.pk, pk) for s in segments for pk in members):
        outcome = first_guess(
            placed=cell in placed, away=cell in missing, has_place=held[cell[1]] is not None
        )
        spot = placed[cell].pk if outcome is Outcome.MARCHED else None
        guesses[cell] = Choice(outcome, spot)
    spots = {member: spot for (_, member), spot in placed.items()}
    ranks = {pk: held[pk] or (spots[pk].rank_id if pk in spots else None) for pk in members}
    return Sheet(event, lineup, segments, members, guesses, placed, ranks, noted)


def _missing(
    event: Event,
    segments: Iterable[Segment],
    members: Mapping[int, Member],
    placed: Collection[Cell],
    noted: Mapping[int, Presence],
) -> set[Cell]:
    """Who was not there for a segment: as the attendance says, else as was reported. Whoever was
    not placed and could not have been counts as missing though they came."""
    away = away_from(event, members.values())
    left_behind = _left_behind(event, members.keys())
    over = event.over_from(event.segments.all())
    found = set()
    for segment in segments:
        for pk, member in members.items():
            seen = was_in(noted.get(pk, Presence()), event, segment, over)
            is_missing = segment.pk in away[pk] if seen is None else not seen
            if (segment.pk, pk) not in placed:
                is_missing |= pk in left_behind or not member.may_march_on(event.date)
            if is_missing:
                found.add((segment.pk, pk))
    return found


def _placed(rows: Iterable[LineupRow], meant: Mapping[int, int]) -> dict[Cell, Spot]:
    """Who was placed where; an entry that was merged into another since means the other."""
    found: dict[Cell, Spot] = {}
    for row in rows:
        if row.member_id is None:
            continue
        if row.member_id in meant:
            found.setdefault((row.segment_id, meant[row.member_id]), row.spot)
        else:
            found[row.segment_id, row.member_id] = row.spot
    return found


def homes(event: Event, members: Iterable[Member]) -> dict[int, int | None]:
    """Member id -> the rank of the spot they held on the day, or of their alternate's place."""
    rank_of = {s.pk: s.rank_id for s in rank_queries.spots(event.season)}
    held = {m: rank_of[s] for s, m in rank_queries.holders_on(event.season, event.date).items()}
    found = {}
    for member in members:
        place = getattr(member, "alternate_place", None)
        found[member.pk] = held.get(member.pk, place.rank_id if place else None)
    return found


def _left_behind(event: Event, members: Iterable[int]) -> set[int]:
    """Who is not on the event's posted travel list; nobody where none is posted."""
    posted = TravelList.objects.filter(event=event, state=TravelState.POSTED)
    travels = set(Traveller.objects.filter(list__event=event).values_list("member_id", flat=True))
    return {pk for pk in members if pk not in travels} if posted.exists() else set()
