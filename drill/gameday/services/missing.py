"""Who stands in the published lineup and is not there, or may not be, now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.keys import key
from drill.absences.models import Absence
from drill.gameday.services.desk import Desk
from drill.gameday.wording import absence_words
from drill.lineup.core.problem import Seat
from drill.lineup.services.problem_builder import Built
from roster.people import queries as people_queries
from roster.people.enums import MemberStatus
from roster.people.models import Member


@dataclass(frozen=True)
class Missing:
    """A member, where they stand and are not there for one reason. ``word`` is 'out' or
    'doubtful'; ``why`` is for staff, empty where nothing more is known; ``reported`` says that it
    is so only because somebody said it."""

    member: Member
    seats: tuple[Seat, ...]
    word: str
    why: str
    reported: bool = False

    @property
    def segments(self) -> str:
        """Ids with commas, as addresses name them."""
        return ",".join(dict.fromkeys(str(int(segment)) for segment, _ in self.seats))


def word_of(built: Built, member: str, segment: str) -> str:
    """'out', 'doubtful', or nothing for somebody who is there."""
    if member not in built.returnable:
        return "out"
    standing = built.standings.get((member, segment))
    return standing.word if standing else ""


def missing(desk: Desk) -> list[Missing]:
    """Whoever stands where they are out, then where they are doubtful, in segments that are not
    over; one entry for each reason."""
    built, segments = desk.built, desk.clock.keys
    found: dict[str, list[Seat]] = defaultdict(list)
    for (segment, spot), who in sorted(desk.field.seats.items()):
        if who and segment in segments and word_of(built, who, segment):
            found[who].append((segment, spot))
    people = _people(desk, found)
    entries = _entries(built, found)
    rows = [row for who, seats in found.items() for row in _rows(desk, people[who], seats, entries)]
    order = {spot: number for number, spot in enumerate(built.spots)}
    return sorted(rows, key=lambda m: (m.word != "out", order.get(m.seats[0][1], 0), m.why))


def _rows(
    desk: Desk, member: Member, seats: list[Seat], entries: dict[int, Absence]
) -> Iterable[Missing]:
    unfit = _unfit(desk, member)
    groups: dict[tuple[str, str], list[Seat]] = defaultdict(list)
    for seat in seats:
        word = word_of(desk.built, key(member.pk), seat[0])
        groups[word, unfit or _said(desk, member, seat[0], entries)].append(seat)
    for (word, why), mine in groups.items():
        yield Missing(member, tuple(mine), word, why, not unfit)


def _unfit(desk: Desk, member: Member) -> str:
    """Why they may not march the event, whatever anybody said about them."""
    day = desk.event.date
    if member.status != MemberStatus.ACTIVE:
        return "left the band" if member.status == MemberStatus.LEFT else "on leave"
    if not member.is_cleared_on(day):
        return "not cleared"
    if not member.is_eligible_on(day):
        return "not eligible"
    return "not on the travel list" if key(member.pk) in desk.built.at_home else ""


def _said(desk: Desk, member: Member, segment: str, entries: dict[int, Absence]) -> str:
    standing = desk.built.standings[key(member.pk), segment]
    entry = entries.get(standing.entry or 0)
    return absence_words(entry) if entry else ""


def _people(desk: Desk, found: Iterable[str]) -> dict[str, Member]:
    """The members, former ones too."""
    former = {int(who) for who in found if who not in desk.built.members}
    rows = people_queries.members(desk.event.season).filter(pk__in=former) if former else ()
    return desk.built.members | {key(m.pk): m for m in rows}


def _entries(built: Built, found: dict[str, list[Seat]]) -> dict[int, Absence]:
    """The entries that decided, by id."""
    standings = (built.standings.get((who, g)) for who, seats in found.items() for g, _ in seats)
    return Absence.objects.select_related("event").in_bulk(
        [s.entry for s in standings if s and s.entry]
    )
