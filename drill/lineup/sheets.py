"""A lineup laid out for reading: rank by rank, spot by spot. Pages and prints share it."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace

from bandops.lib.audit.unchanged import while_unchanged
from bandops.lib.person_names import family_name
from bandops.lib.web.matrix import Cell
from drill.absences.services.standings import availability
from drill.events.models import Segment
from drill.lineup import queries
from drill.lineup.core.problem import Origin
from drill.lineup.models import Backup, Lineup, LineupRow
from drill.lineup.queries import closed_seats
from drill.lineup.services.leading import leading_in, leading_lines
from drill.lineup.wording import Names, hole_sentence, stand_in_sentence
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot


@dataclass(frozen=True)
class Seat:
    """One spot in one segment. ``mark`` names the disc, ``word`` says the same."""

    row: LineupRow
    holder: str
    changed: bool
    closed: bool = False
    """left open, and its line closed up"""

    @property
    def name(self) -> str:
        return self.row.member.name if self.row.member else ""

    @property
    def last_name(self) -> str:
        """For small cells; '' where nobody marches."""
        return family_name(self.name)

    @property
    def mark(self) -> str:
        if self.row.member is None:
            if self.closed:
                return "closed-up"
            return "left-open" if self.row.origin == Origin.LEFT_OPEN else "hole"
        base = "holder" if self.is_home else "stand-in"
        return f"{base} doubtful" if self.row.doubtful else base

    @property
    def is_home(self) -> bool:
        return bool(self.row.member) and self.name == self.holder

    @property
    def stands_in_here(self) -> bool:
        return bool(self.row.member) and not self.is_home

    @property
    def stands_in(self) -> str:
        return f"stands in for {self.holder}" if self.holder else "fills it, nobody holds it"

    @property
    def word(self) -> str:
        if self.row.member is None:
            if self.closed:
                return "closed up"
            return "left open" if self.row.origin == Origin.LEFT_OPEN else "open spot"
        words = "" if self.is_home else self.stands_in
        if self.row.origin == Origin.PINNED:
            words = f"{words}, pinned" if words else "pinned"
        if self.row.doubtful:
            words = f"{words}, doubtful" if words else "doubtful"
        return words


def cell_of(seat: Seat, url: str = "") -> Cell:
    """The seat in the matrix of the whole band: marked only where it is not as usual."""
    spot = seat.row.spot
    return Cell(
        label=f"({spot.label})" if seat.closed else spot.label,
        name=seat.last_name or "open",
        url=url,
        kind="" if seat.mark == "holder" else seat.mark,
        words=seat.word,
        full_name=f"{seat.name}, {spot.part}" if seat.name else f"{spot.part}",
    )


@dataclass(frozen=True)
class SpotLine:
    """A spot with its holder and its seat in each marching segment."""

    spot: Spot
    holder: Member | None
    seats: tuple[Seat, ...]
    backups: tuple[Backup, ...]

    @property
    def has_stand_in(self) -> bool:
        return any(seat.stands_in_here for seat in self.seats)


@dataclass(frozen=True)
class AlternateLine:
    """An alternate: standing, whether available, where they stand in, where they are a backup."""

    place: AlternatePlace
    available: str
    stands_at: tuple[str, ...]
    backup_for: tuple[str, ...]

    @property
    def marches(self) -> str:
        """Where they march, and whether they are there: 'stands by, doubtful'."""
        if self.available == "unavailable":
            return self.available
        where = ", ".join(self.stands_at) or "stands by"
        more = {"doubtful": ", doubtful", "in part": ", here for part of it"}
        return where + more.get(self.available, "")


@dataclass(frozen=True)
class RankSheet:
    """One rank's page."""

    rank: Rank
    lines: tuple[SpotLine, ...]
    alternates: tuple[AlternateLine, ...]
    leading: Mapping[int, str] = field(default_factory=dict)
    """segment -> who leads in the leader's place, '' where the leader leads"""

    @property
    def who_leads(self) -> tuple[str, ...]:
        """Who leads in the leader's place, by segment where it differs."""
        segments = {s.row.segment_id: s.row.segment for x in self.lines for s in x.seats}
        where = {(segment, self.rank.pk): text for segment, text in self.leading.items()}
        return leading_lines(where, self.rank.pk, segments.values())

    @property
    def not_as_usual(self) -> list[tuple[Seat, str]]:
        """Spots that not their holders march, for sure, with the segments."""
        seats = (seat for line in self.lines for seat in line.seats)
        return _by_spot(seat for seat in seats if seat.mark != "holder")

    @property
    def changed(self) -> bool:
        return any(seat.changed for line in self.lines for seat in line.seats)

    @property
    def leaderless(self) -> tuple[str, ...]:
        """Segments in which neither the leader nor the assistant leader stands in the rank."""
        leaders = {self.rank.leader_id, self.rank.assistant_leader_id} - {None}
        led = {s.row.segment_id for x in self.lines for s in x.seats if s.row.member_id in leaders}
        names = {s.row.segment_id: s.row.segment.name for x in self.lines for s in x.seats}
        return tuple(name for pk, name in names.items() if pk not in led) if leaders else ()


def _by_spot(seats: Iterable[Seat]) -> list[tuple[Seat, str]]:
    groups: dict[tuple[int, int | None], list[Seat]] = defaultdict(list)
    for seat in seats:
        groups[seat.row.spot_id, seat.row.member_id].append(seat)
    return [(g[0], ", ".join(s.row.segment.name for s in g)) for g in groups.values()]


@dataclass(frozen=True)
class Sheets:
    """The whole lineup, rank by rank, with the lists of the front page."""

    lineup: Lineup
    segments: tuple[Segment, ...]
    ranks: tuple[RankSheet, ...]
    names: Names = field(repr=False)

    def seats(self, mark: str) -> list[Seat]:
        """All seats of a mark, in printing order."""
        every = (s for r in self.ranks for line in r.lines for s in line.seats)
        return [s for s in every if mark in s.mark.split()]

    @property
    def holes(self) -> list[Seat]:
        return self.seats("hole")

    @property
    def stand_ins(self) -> list[Seat]:
        return self.seats("stand-in")

    @property
    def doubtful(self) -> list[Seat]:
        return self.seats("doubtful")

    def by_spot(self, seats: list[Seat]) -> list[tuple[Seat, str]]:
        """One seat for each spot and member, with the segments they share."""
        return _by_spot(seats)

    @property
    def hole_spots(self) -> list[tuple[Seat, str]]:
        return self.by_spot(self.holes)

    @property
    def stand_in_spots(self) -> list[tuple[Seat, str]]:
        return self.by_spot(self.stand_ins)

    @property
    def doubtful_spots(self) -> list[tuple[Seat, str]]:
        return self.by_spot(self.doubtful)

    def why(self, seat: Seat) -> str:
        """The stored reason of a hole or a stand-in, for staff."""
        if seat.row.member is None:
            return hole_sentence(seat.row.reason)
        return stand_in_sentence(seat.row.reason, self.names)


def sheets(lineup: Lineup, rank_ids: set[int] | None = None) -> Sheets:
    """Lay a lineup out (a fixed number of queries); ``rank_ids`` limits it to some ranks."""
    event = lineup.event
    season = event.season
    rows = list(queries.rows(lineup))
    changed = _changed_seats(lineup)
    holders = _holders(season.pk, event.date)
    closed = closed_seats(lineup, rows)
    backups: dict[int, list[Backup]] = defaultdict(list)
    for backup in queries.backups(season):
        backups[backup.spot_id].append(backup)
    by_spot: dict[int, list[Seat]] = defaultdict(list)
    stands: dict[int, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    spots: dict[int, Spot] = {}
    for row in rows:
        holder = holders.get(row.spot_id)
        at = (row.segment_id, row.spot_id)
        seat = Seat(row, holder.name if holder else "", at in changed, at in closed)
        by_spot[row.spot_id].append(seat)
        spots[row.spot_id] = row.spot
        if row.member_id:
            stands[row.member_id][row.spot.label].append(row.segment.name)
    lines: dict[int, list[SpotLine]] = defaultdict(list)
    for spot_id, seats in by_spot.items():
        spot = spots[spot_id]
        line = SpotLine(spot, holders.get(spot_id), tuple(seats), tuple(backups.get(spot_id, ())))
        lines[spot.rank_id].append(line)
    alternates = _alternates(lineup, stands, backups)
    leading = leading_in(lineup, rank_ids)
    ranks = tuple(
        RankSheet(
            rank,
            tuple(lines.get(rank.pk, ())),
            tuple(alternates.get(rank.pk, ())),
            {segment: text for (segment, led), text in leading.items() if led == rank.pk},
        )
        for rank in rank_queries.ranks(season)
        if rank_ids is None or rank.pk in rank_ids
    )
    segments = {row.segment_id: row.segment for row in rows}
    return Sheets(lineup, tuple(segments.values()), ranks, Names(season.pk))


def sheets_to_show(lineup: Lineup, over: frozenset[str]) -> Sheets:
    """The whole lineup laid out, kept while nothing is written, for pages that only show it."""
    return while_unchanged(("sheets", lineup.pk, over), lambda: sheets(lineup))


def of_ranks(laid_out: Sheets, rank_ids: Collection[int]) -> Sheets:
    """Only these ranks of it."""
    ranks = tuple(sheet for sheet in laid_out.ranks if sheet.rank.pk in rank_ids)
    return replace(laid_out, ranks=ranks)


def _holders(season_id: int, day: datetime.date) -> dict[int, Member]:
    rows = Holding.objects.filter(
        rank_queries.holdings_on(day), spot__rank__season=season_id
    ).select_related("member__person")
    return {h.spot_id: h.member for h in rows}


def _changed_seats(lineup: Lineup) -> set[tuple[int, int]]:
    notice = lineup.change_notice
    if not notice or notice["first"]:
        return set()
    return {
        (int(segment), int(spot))
        for segment, _, _, before, after in notice["changes"]
        for spot in (before, after)
        if spot
    }


def _alternates(
    lineup: Lineup, stands: Mapping[int, Mapping[str, list[str]]], backups: dict[int, list[Backup]]
) -> dict[int, list[AlternateLine]]:
    event = lineup.event
    places = list(rank_queries.alternates(event.season))
    at = availability(event, [p.member for p in places])
    backed_up: dict[int, list[str]] = defaultdict(list)
    for group in backups.values():
        for backup in group:
            backed_up[backup.member_id].append(backup.spot.label)
    found: dict[int, list[AlternateLine]] = defaultdict(list)
    for place in places:
        found[place.rank_id].append(
            AlternateLine(
                place,
                at[place.member_id],
                tuple(
                    f"{label} {', '.join(names)}"
                    for label, names in stands.get(place.member_id, {}).items()
                ),
                tuple(backed_up.get(place.member_id, ())),
            )
        )
    return found
