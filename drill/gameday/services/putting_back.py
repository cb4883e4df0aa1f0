"""Who stands where again when a change of the day is taken back, and what is open then."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from bandops.lib.keys import key
from drill.absences.services.standings import segment_slots, standings
from drill.gameday.models import DayChange
from drill.gameday.queries import Clock
from drill.gameday.services.reporting import would_be_taken_back
from drill.lineup.core.problem import Seat
from drill.lineup.core.rules import Facts, WhyNot
from drill.lineup.services.problem_builder import Built, build

Row = Sequence[int | None]
"""[segment, spot, before, after] ids"""


def seats_back(built: Built, rows: Iterable[Row]) -> dict[Seat, str | None]:
    """Whoever stood on the seats before; nobody where they may not march it any more."""
    facts = Facts(built.problem)
    back: dict[Seat, str | None] = {}
    for row in rows:
        seat, before, _ = _read(row)
        back[seat] = before if before and not _why_not(facts, before, seat) else None
    return back


def would_open(change: DayChange, at: Clock, built: Built | None = None) -> list[tuple[Seat, str]]:
    """The seats that would be open if the change were taken back, and who stood there before and
    may not march it any more, though what was said with the change no longer counts."""
    built = built or build(change.event)
    facts, withdrawn = Facts(built.problem), would_be_taken_back(change, at)
    found = []
    for row in change.seats_in(at.ids):
        seat, before, after = _read(row)
        why = set(_why_not(facts, before, seat)) if before and before != after else set()
        if why == {WhyNot.AWAY} and before and _would_be_there(built, before, seat[0], withdrawn):
            why = set()
        if why and before:
            found.append((seat, before))
    return found


def opens_key(opens: Iterable[tuple[Seat, str]]) -> str:
    """What a page says would be open: a form sends it back, and no more is opened than it said."""
    return " ".join(sorted(f"{int(segment)}.{int(spot)}" for (segment, spot), _ in opens))


def more_than_said(opens: Iterable[tuple[Seat, str]], said: str) -> list[tuple[Seat, str]]:
    """Those of the seats that the page did not name (its ``opens_key``)."""
    known = set(said.split())
    return [one for one in opens if opens_key([one]) not in known]


def changes_anything(rows: Iterable[Row], opens: Collection[Seat]) -> bool:
    """Whether taking back does something, where it opens these seats."""
    read = (_read(row) for row in rows)
    return any((None if seat in opens else before) != after for seat, before, after in read)


def _would_be_there(built: Built, member: str, segment: str, withdrawn: Collection[int]) -> bool:
    if member not in built.returnable:
        return False
    event = built.event
    slots = segment_slots(event, built.segments.values())
    at = standings(event, slots, [built.members[member]], without=withdrawn)
    return not at[member, segment].is_away(event.season.doubtful_out_from)


def _why_not(facts: Facts, member: str, seat: Seat) -> tuple[WhyNot, ...]:
    known = facts.members.get(member)
    spot = facts.spots.get(seat[1])
    if known is None or spot is None:
        return (WhyNot.AWAY,)
    return facts.why_not(known, seat[0], spot)


def _read(row: Row) -> tuple[Seat, str | None, str | None]:
    segment, spot, before, after = row
    seat = (key(segment or 0), key(spot or 0))
    return seat, key(before) if before else None, key(after) if after else None
