"""Cards to decide as pages show them: who wanted what, by when it was recorded, and which spots a
choice would open."""

from __future__ import annotations

import datetime
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass

from bandops.lib.keys import key
from drill.events.models import Event
from drill.gameday.models import Clash, DayChange
from drill.gameday.queries import clock, open_clashes
from drill.gameday.services.clashes import seats_opened
from drill.gameday.wording import row_seats_words, seats_words, wanted_words
from drill.lineup import queries as lineup_queries
from drill.lineup.core.changes import seats_of
from drill.lineup.core.problem import Seat
from drill.lineup.models import Lineup
from drill.lineup.services.proposals import placements_of
from drill.lineup.wording import Names


@dataclass(frozen=True)
class Wanted:
    """Who wanted what, when they recorded it, and when it arrived where that was later."""

    by: str
    what: str
    at: datetime.datetime
    arrived: datetime.datetime | None = None


@dataclass(frozen=True)
class ToDecide:
    """A card; ``leaves`` and ``opens`` are spots in words: where whoever is wanted stands by now,
    and what nobody would march any more if they were chosen."""

    clash: Clash
    wanted: tuple[Wanted, ...]
    leaves: str
    opens: str


def to_decide(
    event: Event, ranks: Collection[int] | None = None, last: Lineup | None = None
) -> list[ToDecide]:
    """The event's open cards, as ``open_clashes``; one query where there is none. ``last`` is
    its published lineup, where it is read already."""
    clashes = open_clashes(event, ranks)
    last = last or (lineup_queries.published(event) if clashes else None)
    if last is None or not clashes:
        return []
    names, now, left = Names(event.season_id), seats_of(placements_of(last)), clock(event).keys
    changes = list(DayChange.objects.filter(event=event).select_related("made_by"))
    return [
        ToDecide(
            clash,
            tuple(_in_order(clash, changes, names)),
            row_seats_words(clash.leaves, names),
            seats_words(_opened(now, clash, left), names),
        )
        for clash in clashes
    ]


def _opened(now: Mapping[Seat, str | None], clash: Clash, left: Collection[str]) -> list[Seat]:
    return seats_opened(now, clash, left) if clash.chosen else []


def _in_order(clash: Clash, changes: Iterable[DayChange], names: Names) -> list[Wanted]:
    """What made it stand as it does, where the desk did, and what was wanted instead."""
    arrived = clash.arrived_at if clash.waited else None
    by = str(clash.wanted_by or "Somebody")
    found = [Wanted(by, wanted_words(clash), clash.wanted_at, arrived)]
    for change in changes:
        if clash.arrived_at is None or change.made_at > clash.arrived_at:
            continue
        rows = [row for row in change.seats if _is_of(row, clash)]
        if rows:
            who = names.member(key(rows[0][3])) if rows[0][3] else ""
            where = row_seats_words(rows, names)
            what = f"put {who} at {where}" if who else f"left {where} open"
            found.append(Wanted(str(change.made_by or "Somebody"), what, change.recorded_at))
            break
    return sorted(found, key=lambda one: one.at)


def _is_of(row: list[int | None], clash: Clash) -> bool:
    """The seat of a change is what the card is about: who stands there, or where they stand."""
    segment, spot, _, after = row
    if [segment, spot] in clash.leaves:
        return after == clash.wanted_id
    stood = {(g, s): m for g, s, *m in clash.seats}
    return (segment, spot) in stood and [after] == stood[segment, spot]
