"""Attendance: notes by many hands, and what they come to, rank by rank."""

from __future__ import annotations

import datetime
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.ties import merged
from drill.absences.services.late import late_words
from drill.absences.services.standings import availability
from drill.events.enums import EventKind
from drill.events.models import Event
from drill.rehearsals.core import attendance as core
from drill.rehearsals.core.presence import at_performance
from drill.rehearsals.enums import AttendanceState
from drill.rehearsals.models import Attendance
from drill.rehearsals.ties import PLACED, Placed
from roster.people import queries as people_queries
from roster.people.enums import MemberStatus
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding, Rank


@dataclass(frozen=True)
class Said:
    """A note in words: who noted what, and when; ``later`` is a day after the rehearsal's."""

    by: str
    word: str
    at: datetime.datetime
    later: bool
    settles: bool


@dataclass(frozen=True)
class Line:
    """One member of a rank at an event. ``expected`` never says why; ``late`` is until when."""

    member: Member
    place: str
    expected: str
    outcome: core.Outcome
    counting: tuple[Said, ...]
    behind: tuple[Said, ...]
    late: str = ""

    @property
    def state(self) -> str:
        return self.outcome.state or ""

    @property
    def noted(self) -> bool:
        return bool(self.outcome.counting)

    @property
    def differs(self) -> bool:
        return self.outcome.differs

    @property
    def unexplained(self) -> bool:
        """Not here, and nobody had reported anything."""
        nothing_said = self.expected == "available" and not self.late
        return self.state == AttendanceState.ABSENT and nothing_said

    @property
    def is_rest(self) -> bool:
        """Nobody has noted them, and they are expected by now."""
        return not self.noted and not self.late and self.expected != "unavailable"


@dataclass(frozen=True)
class RankAttendance:
    """A rank at an event."""

    rank: Rank
    lines: tuple[Line, ...]

    @property
    def rest(self) -> list[Line]:
        """Whom nobody has noted and who is expected neither away nor late."""
        return [x for x in self.lines if x.is_rest]

    @property
    def counts(self) -> Counter[str]:
        """How many are here, late, …; 'differs', 'unavailable' and 'open' for the others."""
        return Counter(_count_as(line) for line in self.lines)

    @property
    def noted(self) -> int:
        return sum(line.noted for line in self.lines)


def _count_as(line: Line) -> str:
    if line.noted:
        return "differs" if line.differs else line.state
    return "unavailable" if line.expected == "unavailable" else "open"


def attendance_of(event: Event, ranks: Iterable[Rank]) -> list[RankAttendance]:
    """The ranks as they stood on the day, with what was noted (a fixed number of queries)."""
    places = places_at(event)
    wanted = list(ranks)
    by_rank: dict[int, list[tuple[Member, str]]] = defaultdict(list)
    for rank_id, member, place in places:
        by_rank[rank_id].append((member, place))
    people = [member for rank in wanted for member, _ in by_rank[rank.pk]]
    expected = availability(event, people)
    late, notes = late_words(event, people), notes_at(event)
    return [
        RankAttendance(
            rank,
            tuple(
                _line(
                    event,
                    member,
                    place,
                    expected[member.pk],
                    notes.get(member.pk, []),
                    late.get(member.pk, ""),
                )
                for member, place in by_rank[rank.pk]
            ),
        )
        for rank in wanted
    ]


def places_on(season: Season, day: datetime.date) -> list[tuple[int, Member, str]]:
    """Rank, member and place of everybody on a day: holders by spot, then alternates."""
    held = Holding.objects.filter(
        rank_queries.holdings_on(day),
        spot__rank__season=season,
        member__status=MemberStatus.ACTIVE,
    ).select_related("spot__rank", "member__person")
    rows = [
        (h.spot.rank_id, h.member, h.spot.label) for h in held.order_by("spot__number", "starts")
    ]
    holders = {member.pk for _, member, _ in rows}
    others = rank_queries.alternates(season).filter(member__status=MemberStatus.ACTIVE)
    rows += [
        (p.rank_id, p.member, f"{p.title}, {p.part}") for p in others if p.member_id not in holders
    ]
    return rows


def places_at(event: Event) -> list[tuple[int, Member, str]]:
    """Rank, member and place of everybody at an event. At a performance a place says where the
    published lineup puts them; whoever has a spot in it and no place of their own comes last,
    under the rank they march in."""
    rows = places_on(event.season, event.date)
    if event.kind == EventKind.REHEARSAL:
        return rows
    placed = merged(PLACED.ask(event))
    found = [(rank, m, _place(place, placed.get(m.pk))) for rank, m, place in rows]
    without = placed.keys() - {m.pk for _, m, _ in rows}
    guests = people_queries.members(event.season).filter(pk__in=without) if without else ()
    return found + [(placed[m.pk].rank_id, m, f"marches {placed[m.pk].spots}") for m in guests]


def _place(place: str, placed: Placed | None) -> str:
    if placed is None or placed.spots == place:
        return place
    return f"{place}, marches {placed.spots}"


def rank_at(event: Event, member: Member) -> Rank | None:
    """The rank under which a member stands on an event's list."""
    ranks = (rank for rank, other, _ in places_at(event) if other.pk == member.pk)
    return Rank.objects.filter(pk=next(ranks, 0)).first()


def rank_on(day: datetime.date, member: Member) -> Rank | None:
    """The rank a member stood in on a day."""
    holding = Holding.objects.filter(rank_queries.holdings_on(day), member=member)
    held = holding.select_related("spot__rank").first()
    if held is not None:
        return held.spot.rank
    place = AlternatePlace.objects.filter(member=member).select_related("rank").first()
    return place.rank if place else None


def notes_at(event: Event) -> dict[int, list[Attendance]]:
    """Member id -> every note about them at the event."""
    found: dict[int, list[Attendance]] = defaultdict(list)
    for note in event.attendance.select_related("noted_by"):
        found[note.member_id].append(note)
    return found


def outcome_of(notes: Iterable[Attendance]) -> core.Outcome:
    """What the notes about one member come to."""
    return core.decide(
        core.Note(str(n.key), str(n.noted_by_id or ""), n.state, n.noted_at, n.settles)
        for n in notes
    )


def outcome_at(event: Event, notes: Iterable[Attendance]) -> core.Outcome:
    """What the notes about one member come to by the rule of the event's kind."""
    outcome = outcome_of(notes)
    return outcome if event.kind == EventKind.REHEARSAL else at_performance(outcome)


def _line(
    event: Event,
    member: Member,
    place: str,
    expected: str,
    notes: list[Attendance],
    late: str,
) -> Line:
    outcome = outcome_at(event, notes)
    by_key = {str(note.key): note for note in notes}

    def said(these: tuple[core.Note, ...]) -> tuple[Said, ...]:
        return tuple(_said(event, by_key[note.key]) for note in these)

    late = "" if expected == "unavailable" else late
    counting, behind = said(outcome.counting), said(outcome.behind)
    return Line(member, place, expected, outcome, counting, behind, late)


def _said(event: Event, note: Attendance) -> Said:
    later = note.noted_at.astimezone(event.zone).date() != event.date
    by = str(note.noted_by) if note.noted_by else "a former account"
    return Said(by, str(AttendanceState(note.state).label), note.noted_at, later, note.settles)
