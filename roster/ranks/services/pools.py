"""The pools in which alternates have their standing: looked at, and changed for the season."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from dataclasses import dataclass

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry, TakenBack
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import AlternatePool
from roster.people.models import Part, Season
from roster.ranks import queries
from roster.ranks.models import AlternatePlace, Rank
from roster.ranks.services.alternates import write_standings

ACTION = "change the alternates' pools"


@dataclass(frozen=True)
class PoolList:
    """The alternates of one part in one pool, in order; ``rank`` where the pool is a rank's."""

    part: Part
    rank: Rank | None
    places: tuple[AlternatePlace, ...]

    def __str__(self) -> str:
        return f"{self.part}, {self.rank}" if self.rank else str(self.part)


def pool_lists(season: Season, pool: str) -> list[PoolList]:
    """The season's alternates in pools of a kind: by today's standing, then by rank.

    Ranks' lists merge so that every first alternate goes before every second; a wider list
    splits into ranks' with its order kept.
    """
    groups: dict[tuple[Part, Rank | None], list[AlternatePlace]] = defaultdict(list)
    for place in queries.alternates(season):
        rank = place.rank if pool == AlternatePool.RANK else None
        groups[place.part, rank].append(place)
    found = [PoolList(p, r, tuple(sorted(x, key=_nearness))) for (p, r), x in groups.items()]
    return sorted(found, key=_reading_order)


def _nearness(place: AlternatePlace) -> tuple[object, ...]:
    return place.standing or 0, place.rank.order, place.rank.label, place.pk


def _reading_order(one: PoolList) -> tuple[object, ...]:
    rank = (one.rank.order, one.rank.label) if one.rank else (0, "")
    return *rank, one.part.order, one.part.name, one.part.pk


def fingerprint(season: Season) -> str:
    """Tells whether alternates or their standings changed since somebody looked."""
    rows = AlternatePlace.objects.filter(rank__season=season).order_by("pk")
    said = repr(list(rows.values_list("pk", "rank_id", "part_id", "standing")))
    return hashlib.sha256(f"{season.alternates_by} {said}".encode()).hexdigest()[:16]


def change_pools(*, actor: User, season: Season, pool: str, seen: str) -> None:
    """The season's alternates stand in pools of another kind, renumbered in the order that
    ``pool_lists`` shows; Refused where they changed since ``seen`` was taken."""
    with recorded(actor, ACTION):
        season = Season.objects.select_for_update().get(pk=season.pk)
        list(AlternatePlace.objects.select_for_update().filter(rank__season=season))
        if fingerprint(season) != seen:
            raise Refused("The alternates just changed: look at the new order.")
        if pool == season.alternates_by:
            raise Refused(
                f"Alternates are already ranked within {season.get_alternates_by_display()}."
            )
        lists = pool_lists(season, pool)
        season.alternates_by = pool
        season.save()
        # All at once: a list written before another is cleared could take its numbers.
        AlternatePlace.objects.filter(rank__season=season).update(standing=None)
        for one in lists:
            write_standings(list(one.places), season)


def last_change(season: Season) -> AuditEntry | None:
    """The latest change of pools, unless it was taken back."""
    entries = AuditEntry.objects.filter(
        action=ACTION, table=Season._meta.db_table, row_id=str(season.pk)
    )
    last = entries.order_by("-id").first()
    if last is None or TakenBack.objects.filter(batch=last.batch).exists():
        return None
    return last
