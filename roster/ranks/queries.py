"""Reused reads of ranks, spots, holders and alternates."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet

from roster.people.models import Member, Part, Season
from roster.people.queries import active_members
from roster.people.viewer import Viewer
from roster.ranks.models import AlternatePlace, Holding, Rank, Spot


def holdings_on(day: datetime.date) -> Q:
    """Holdings that run on a day."""
    return Q(starts__lte=day) & (Q(ends__isnull=True) | Q(ends__gt=day))


def members_of_ranks(season: Season, rank_ids: list[int]) -> QuerySet[Member]:
    """Holders and alternates of the ranks."""
    here = Q(holdings__ends__isnull=True, holdings__spot__rank__in=rank_ids)
    alternates = Q(alternate_place__rank__in=rank_ids)
    return active_members(season).filter(here | alternates).distinct()


def rank_ids(season: Season) -> dict[int, int]:
    """Member id -> the rank where they hold a spot, else where they are an alternate."""
    places = AlternatePlace.objects.filter(rank__season=season)
    held = Holding.objects.filter(spot__rank__season=season, ends__isnull=True)
    found = dict(places.values_list("member_id", "rank_id"))
    return found | dict(held.values_list("member_id", "spot__rank_id"))


def ranks(season: Season) -> QuerySet[Rank]:
    """The season's ranks with leader and assistant leader."""
    return Rank.objects.filter(season=season).select_related(
        "leader__person", "assistant_leader__person"
    )


def spots(season: Season) -> QuerySet[Spot]:
    """All spots in order, with rank and part."""
    return (
        Spot.objects.filter(rank__season=season)
        .select_related("rank", "part__instrument")
        .order_by("rank__order", "rank__label", "number")
    )


def spots_with_holders(season: Season) -> QuerySet[Spot]:
    """All spots with today's holders as ``open_holdings``."""
    return spots(season).prefetch_related(
        Prefetch(
            "holdings",
            Holding.objects.filter(ends__isnull=True).select_related("member__person"),
            to_attr="open_holdings",
        )
    )


def holders_on(season: Season, day: datetime.date) -> dict[int, int]:
    """Spot id -> member id on a day."""
    rows = Holding.objects.filter(holdings_on(day), spot__rank__season=season)
    return dict(rows.values_list("spot_id", "member_id"))


def alternates(season: Season) -> QuerySet[AlternatePlace]:
    """Alternates by rank, part and standing."""
    return AlternatePlace.objects.filter(rank__season=season).select_related(
        "member__person", "rank", "part"
    )


def spot_history(spot: Spot) -> QuerySet[Holding]:
    """Who held the spot, latest first."""
    return spot.holdings.select_related("member__person", "decided_by").order_by("-starts", "-id")


def member_history(member: Member) -> QuerySet[Holding]:
    """The spots a member held, latest first."""
    return member.holdings.select_related("spot__rank", "decided_by").order_by("-starts", "-id")


@dataclass(frozen=True)
class SetUp:
    """How far a new season's first set-up has come."""

    parts: int
    members: int
    spots: int
    held: int
    alternates: int

    @property
    def has_people(self) -> bool:
        return self.members > 0


def set_up(season: Season) -> SetUp:
    """Counts for the guided first set-up."""
    return SetUp(
        Part.objects.filter(season=season).count(),
        Member.objects.filter(season=season, person__merged_into__isnull=True).count(),
        Spot.objects.filter(rank__season=season).count(),
        Holding.objects.filter(spot__rank__season=season, ends__isnull=True).count(),
        AlternatePlace.objects.filter(rank__season=season).count(),
    )


def ranks_led(viewer: Viewer) -> list[Rank]:
    """The ranks that the viewer leads."""
    return [rank for rank in viewer.ranks_led if isinstance(rank, Rank)]
