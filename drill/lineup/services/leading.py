"""Who leads each rank in each segment of a lineup, in words."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from typing import Any

from django.db.models import Q

from bandops.lib.audit.unchanged import while_unchanged
from drill.events.models import Segment
from drill.lineup.core.leading import Leading, Marcher, who_leads
from drill.lineup.models import Lineup
from drill.lineup.wording import leading_words
from roster.people.models import Member
from roster.ranks import queries as rank_queries
from roster.ranks.models import AlternatePlace, Holding, Rank

Where = tuple[int, int]
"""(segment, rank) ids"""


def leading_in(lineup: Lineup, rank_ids: Collection[int] | None = None) -> dict[Where, str]:
    """Who leads in the leader's place (at most five queries); '' where the leader leads. Ranks
    that have no spot in a segment are left out."""
    return _in_words(*_found(lineup, rank_ids))


def leading_to_show(lineup: Lineup) -> dict[Where, str]:
    """The same of all ranks, kept while nothing is written."""
    return while_unchanged(("leading in", lineup.pk), lambda: leading_in(lineup))


def who_leads_in(lineup: Lineup, rank_ids: Collection[int]) -> dict[Where, tuple[int, ...]]:
    """Ids of who leads, one after another: each but the last is doubtful (at most four
    queries)."""
    found, _ = _found(lineup, rank_ids)
    usual = rank_queries.ranks(lineup.event.season).in_bulk(list(rank_ids))
    return {
        where: it.line if it else tuple(_leaders(usual[where[1]])[:1])
        for where, it in found.items()
    }


def _found(
    lineup: Lineup, rank_ids: Collection[int] | None
) -> tuple[dict[Where, Leading | None], set[tuple[int, int]]]:
    """Who leads, and (segment, member) of everybody on the field."""
    ranks = {
        rank.pk: rank
        for rank in rank_queries.ranks(lineup.event.season)
        if rank_ids is None or rank.pk in rank_ids
    }
    leaders = {pk for rank in ranks.values() for pk in _leaders(rank)}
    rows = list(_rows(lineup, ranks, leaders))
    own = _own(lineup, ranks)
    marching: dict[Where, list[Marcher]] = {}
    stands: set[tuple[int, int]] = set()
    for order, row in enumerate(rows):
        if row["member_id"]:
            stands.add((row["segment_id"], row["member_id"]))
        if row["spot__rank_id"] in ranks:
            here = marching.setdefault((row["segment_id"], row["spot__rank_id"]), [])
            if row["member_id"]:
                here.append(_marcher(row, order, own[row["spot__rank_id"]]))
    found = {
        (segment, rank): who_leads(_leaders(ranks[rank]), marchers)
        for (segment, rank), marchers in marching.items()
    }
    return found, stands


def leading_lines(
    found: Mapping[Where, str], rank_id: int, segments: Iterable[Segment]
) -> tuple[str, ...]:
    """A rank's words: once where all segments say the same, else by segment."""
    told = [(s.name, found[s.pk, rank_id]) for s in segments if (s.pk, rank_id) in found]
    texts = {text for _, text in told}
    if len(texts) == 1:
        return tuple(text for text in texts if text)
    return tuple(f"{segment}: {text}" for segment, text in told if text)


def _leaders(rank: Rank) -> list[int]:
    return [pk for pk in (rank.leader_id, rank.assistant_leader_id) if pk]


def _rows(
    lineup: Lineup, rank_ids: Iterable[int], leaders: Iterable[int]
) -> Iterable[Mapping[str, Any]]:
    """The ranks' seats in printing order, and wherever their leaders stand."""
    rows = lineup.rows.filter(Q(spot__rank__in=rank_ids) | Q(member__in=leaders))
    return rows.order_by("segment__order", "spot__rank__order", "spot__number", "pk").values(
        "segment_id", "spot__rank_id", "member_id", "doubtful", "member__years_marched"
    )


def _own(lineup: Lineup, rank_ids: Iterable[int]) -> dict[int, set[int]]:
    """Rank -> its holders and alternates on the event's day."""
    own: dict[int, set[int]] = defaultdict(set)
    held = Holding.objects.filter(
        rank_queries.holdings_on(lineup.event.date), spot__rank__in=rank_ids
    )
    places = AlternatePlace.objects.filter(rank__in=rank_ids)
    for rank, member in (
        *held.values_list("spot__rank_id", "member_id"),
        *places.values_list("rank_id", "member_id"),
    ):
        own[rank].add(member)
    return own


def _marcher(row: Mapping[str, Any], order: int, own: Collection[int]) -> Marcher:
    member = row["member_id"]
    return Marcher(
        member, row["member__years_marched"], order, member in own, bool(row["doubtful"])
    )


def _in_words(
    found: Mapping[Where, Leading | None], stands: Collection[tuple[int, int]]
) -> dict[Where, str]:
    named = {pk for it in found.values() if it for pk in (it.usual, *it.line)}
    members = Member.objects.filter(pk__in=named).select_related("person") if named else ()
    names = {member.pk: member.name for member in members}
    words = {}
    for (segment, rank), it in found.items():
        elsewhere = it is not None and (segment, it.usual) in stands
        words[segment, rank] = (
            leading_words(it, names, "elsewhere" if elsewhere else "out") if it else ""
        )
    return words
