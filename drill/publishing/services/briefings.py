"""What whoever stands in must know: for whom, what to learn, whom to ask."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass

from drill.absences.services.standings import availability
from drill.field.services.writing import Writer
from drill.learning.services.studies import Study, studies_of
from drill.learning.services.study_words import StudyWords, fundamental_names, in_words
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup, LineupRow
from drill.lineup.services.leading import who_leads_in
from drill.publishing.core.asking import Asked, Knows, RankThere, whom_to_ask
from drill.shows.models import ShowVersion
from roster.people import queries as people_queries
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot


@dataclass(frozen=True)
class Briefing:
    """A spot that a member marches and does not hold. ``for_whom`` is its holder, empty where it
    has none; ``ask`` names people and how they know the spot, never how to reach them: whoever
    reads it may not see another member's phone."""

    spot: Spot
    where: str
    for_whom: str
    learn: tuple[StudyWords, ...]
    ask: tuple[tuple[str, str], ...]

    @property
    def new_sets(self) -> int:
        return sum(one.load.new for one in self.learn)


@dataclass(frozen=True)
class _Published:
    """A published lineup read once for many briefings."""

    lineup: Lineup
    rows: tuple[LineupRow, ...]
    holders: dict[int, int]
    """spot id -> member id, on the event's day"""
    backups: dict[int, list[int]]
    members: dict[int, Member]
    away: frozenset[int]
    leading: dict[tuple[int, int], tuple[int, ...]]
    """(segment, rank) ids -> who leads"""


Pair = tuple[Member, Spot]


def briefings(
    lineup: Lineup, members: Iterable[Member], writer: Writer
) -> dict[int, list[Briefing]]:
    """Member id -> a briefing for each spot they stand in on (a fixed number of queries)."""
    holders = rank_queries.holders_on(lineup.event.season, lineup.event.date)
    stands_in: dict[tuple[int, int], list[LineupRow]] = defaultdict(list)
    for row in lineup_queries.rows(lineup).filter(member__in=[m.pk for m in members]):
        if row.member_id and holders.get(row.spot_id) != row.member_id:
            stands_in[row.member_id, row.spot_id].append(row)
    if not stands_in:
        return {}
    spots = [rows[0].spot for rows in stands_in.values()]
    it = _read(lineup, holders, {spot.rank_id for spot in spots})
    pairs = [(it.members[member], rows[0].spot) for (member, _), rows in stands_in.items()]
    learn = _studies(lineup, pairs)
    names = fundamental_names(lineup.event.season)
    found: dict[int, list[Briefing]] = defaultdict(list)
    for (member, spot), rows in stands_in.items():
        shows = {r.segment.show_id for r in rows}
        words = [in_words(s, writer, names) for s in learn[member, spot] if s.show.pk in shows]
        found[member].append(_briefing(it, rows, tuple(words)))
    return found


def _read(lineup: Lineup, holders: dict[int, int], ranks: Collection[int]) -> _Published:
    season = lineup.event.season
    rows = tuple(lineup_queries.rows(lineup))
    backups: dict[int, list[int]] = defaultdict(list)
    for backup in lineup_queries.backups(season):
        backups[backup.spot_id].append(backup.member_id)
    members = {m.pk: m for m in people_queries.members(season)}
    words = availability(lineup.event, members.values())
    away = frozenset(pk for pk, word in words.items() if word == "unavailable")
    leading = who_leads_in(lineup, ranks)
    return _Published(lineup, rows, holders, backups, members, away, leading)


def _studies(lineup: Lineup, pairs: Collection[Pair]) -> dict[tuple[int, int], list[Study]]:
    """By the versions and dots that were published."""
    kept = ShowVersion.objects.in_bulk(list(lineup.show_versions.values()))
    versions = {v.show_id: v for v in kept.values()}

    def dots(show: int, spots: Iterable[Spot]) -> dict[int, str]:
        return lineup_queries.dots_in(lineup, show, spots)

    return studies_of(lineup.event, pairs, versions, dots)


def _briefing(it: _Published, rows: list[LineupRow], learn: tuple[StudyWords, ...]) -> Briefing:
    first = rows[0]
    holder = it.members.get(it.holders.get(first.spot_id, 0))
    labels = {r.spot_id: str(r.spot) for r in it.rows}
    asked = whom_to_ask(
        _rank_there(it, first),
        spot=first.spot_id,
        me=first.member_id or 0,
        backups=it.backups.get(first.spot_id, []),
        away=it.away,
    )
    return Briefing(
        first.spot,
        ", ".join(r.segment.name for r in rows),
        holder.name if holder else "",
        learn,
        tuple((it.members[a.member].name, _how(a, labels)) for a in asked),
    )


def _rank_there(it: _Published, seat: LineupRow) -> RankThere:
    rank = seat.spot.rank
    there = [r for r in it.rows if r.segment_id == seat.segment_id and r.spot.rank_id == rank.pk]
    stands = {r.spot_id: r.member_id for r in there if r.member_id}
    return RankThere(
        tuple(_spots(it, rank.pk)),
        stands,
        frozenset(m for s, m in stands.items() if it.holders.get(s) == m),
        it.leading.get((seat.segment_id, rank.pk), ()),
    )


def _spots(it: _Published, rank_id: int) -> list[int]:
    """The rank's spots in order."""
    return list(dict.fromkeys(r.spot_id for r in it.rows if r.spot.rank_id == rank_id))


def _how(asked: Asked, labels: dict[int, str]) -> str:
    if asked.knows is Knows.BESIDE and asked.spot is not None:
        return f"{asked.knows}, {labels[asked.spot]}"
    return str(asked.knows)
