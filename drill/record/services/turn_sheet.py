"""What the pages of the turn book show."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from drill.absences.services.standings import away_from
from drill.events.enums import MARCHING, TravelState
from drill.events.models import Event, Segment, Traveller, TravelList
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from drill.record.core.turns import Outcome, first_guess
from drill.record.enums import TurnOutcome
from roster.people import queries as people_queries
from roster.people.enums import MemberStatus
from roster.people.models import Member, Season
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
    """An event's turns as the lineup and the absences have them, before anybody confirmed."""

    event: Event
    lineup: Lineup
    segments: tuple[Segment, ...]
    members: Mapping[int, Member]
    guesses: Mapping[Cell, Choice]
    placed: Mapping[Cell, Spot]
    ranks: Mapping[int, int | None]
    """member id -> the rank they are listed under; None for no rank"""


def sheet(event: Event, lineup: Lineup) -> Sheet:
    """Everybody who is active or placed, in every segment that marches (fixed queries)."""
    segments = tuple(s for s in event.segments.all() if s.kind in MARCHING)
    rows = lineup_queries.rows(lineup).filter(member__isnull=False, segment__kind__in=MARCHING)
    placed = {(r.segment_id, r.member_id): r.spot for r in rows if r.member_id}
    stands = {member for _, member in placed}
    members = {
        m.pk: m
        for m in people_queries.members(event.season)
        if m.status == MemberStatus.ACTIVE or m.pk in stands
    }
    held = homes(event, members.values())
    away = away_from(event, members.values())
    left_behind = _left_behind(event, members.keys())
    guesses = {}
    for segment in segments:
        for pk, member in members.items():
            cell = segment.pk, pk
            missing = segment.pk in away[pk]
            if cell not in placed:
                missing |= pk in left_behind or not member.may_march_on(event.date)
            outcome = first_guess(
                placed=cell in placed, away=missing, has_place=held[pk] is not None
            )
            spot = placed[cell].pk if outcome is Outcome.MARCHED else None
            guesses[cell] = Choice(outcome, spot)
    spots = {member: spot for (_, member), spot in placed.items()}
    ranks = {pk: held[pk] or (spots[pk].rank_id if pk in spots else None) for pk in members}
    return Sheet(event, lineup, segments, members, guesses, placed, ranks)


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


# The page on which staff confirm


@dataclass(frozen=True)
class Option:
    """One thing a member may have done."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True)
class SheetCell:
    """A member in a segment on the page."""

    name: str
    segment: Segment
    changed: bool
    options: tuple[Option, ...]


@dataclass(frozen=True)
class Group:
    """A rank on the page, or those without one, with the ids of its members."""

    key: str
    label: str
    members: frozenset[int]


def group_list(season: Season, ranks: Mapping[int, int | None]) -> list[Group]:
    """The ranks that have members here, in their order; those without one come last."""
    labels: list[tuple[int | None, str]] = [(r.pk, str(r)) for r in rank_queries.ranks(season)]
    found = []
    for pk, label in [*labels, (None, "No rank")]:
        inside = frozenset(m for m, rank in ranks.items() if rank == pk)
        if inside:
            found.append(Group(str(pk or "none"), label, inside))
    return found


def exceptions(it: Sheet, chosen: Mapping[Cell, Choice]) -> dict[Cell, Choice]:
    """What differs from the first guess."""
    return {c: choice for c, choice in chosen.items() if it.guesses.get(c) not in (None, choice)}


def tally(it: Sheet, chosen: Mapping[Cell, Choice]) -> list[tuple[Segment, list[tuple[str, int]]]]:
    """How many did what in each segment, as the sheet stands."""
    now = dict(it.guesses) | dict(chosen)
    found = []
    for segment in it.segments:
        counts = Counter(c.outcome for (g, _), c in now.items() if g == segment.pk)
        found.append((segment, [(TurnOutcome(o).label, counts[o]) for o in Outcome]))
    return found


def lines(
    it: Sheet, group: Group, chosen: Mapping[Cell, Choice]
) -> list[tuple[Member, list[SheetCell]]]:
    """A group's members, each with a cell a segment."""
    spots = list(rank_queries.spots(it.event.season))
    now = dict(it.guesses) | dict(chosen)
    taken = {(segment, choice.spot) for (segment, _), choice in now.items() if choice.spot}
    return [
        (
            member,
            [
                _cell(it, s, member, _near(it, s, member, spots, group, taken), now)
                for s in it.segments
            ],
        )
        for pk, member in it.members.items()
        if pk in group.members
    ]


def _near(
    it: Sheet,
    segment: Segment,
    member: Member,
    spots: list[Spot],
    group: Group,
    taken: set[tuple[int, int]],
) -> list[Spot]:
    """The spots a member may well have marched: of their parts, the rank's own and any free one."""
    plays = {q.part_id for q in member.skills}  # type: ignore[attr-defined]
    return [
        s
        for s in spots
        if s.part_id in plays
        and (str(s.rank_id) == group.key or (segment.pk, s.pk) not in taken)
        and s != it.placed.get((segment.pk, member.pk))
    ]


def _cell(
    it: Sheet, segment: Segment, member: Member, near: list[Spot], now: Mapping[Cell, Choice]
) -> SheetCell:
    """Their own place first, then the rest, then other spots."""
    cell = segment.pk, member.pk
    own = it.placed.get(cell)
    choices = [(Choice(Outcome.MARCHED, own.pk), f"marched {own}")] if own else []
    others = [o for o in Outcome if o is not Outcome.MARCHED]
    choices += [(Choice(o), TurnOutcome(o).label) for o in others]
    choices += [(Choice(Outcome.MARCHED, s.pk), f"marched {s}") for s in near]
    if now[cell] not in [choice for choice, _ in choices]:
        choices.append((now[cell], "marched another spot"))
    options = tuple(Option(c.value, label, c == now[cell]) for c, label in choices)
    return SheetCell(name_of(cell), segment, now[cell] != it.guesses[cell], options)


def name_of(cell: Cell) -> str:
    """The cell's name in forms."""
    return f"t-{cell[0]}-{cell[1]}"
