"""Every reused read of the roster, named once."""

from __future__ import annotations

import datetime
from dataclasses import dataclass

from django.db.models import Prefetch, Q, QuerySet

from bandops.lib.names import plain
from roster.enums import MemberStatus
from roster.models import (
    AlternatePlace,
    Holding,
    Instrument,
    Member,
    Part,
    Qualification,
    Rank,
    Season,
    Spot,
)


def whole_number(text: str) -> int | None:
    """What somebody typed or posted as a number that a row can have; None for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 10 else None


def holdings_on(day: datetime.date) -> Q:
    """Holdings that run on a day."""
    return Q(starts__lte=day) & (Q(ends__isnull=True) | Q(ends__gt=day))


def members(season: Season) -> QuerySet[Member]:
    """The season's members with what lists show: person, parts, spot, alternate's place."""
    return (
        Member.objects.filter(season=season)
        .select_related("person", "alternate_place__rank", "alternate_place__part")
        .prefetch_related(
            Prefetch(
                "qualifications",
                Qualification.objects.select_related("part__instrument"),
                to_attr="skills",
            ),
            Prefetch(
                "holdings",
                Holding.objects.filter(ends__isnull=True).select_related("spot__rank"),
                to_attr="open_holdings",
            ),
        )
    )


def active_members(season: Season) -> QuerySet[Member]:
    """Members who take part."""
    return members(season).filter(status=MemberStatus.ACTIVE)


def members_of_ranks(season: Season, rank_ids: list[int]) -> QuerySet[Member]:
    """Holders and alternates of the ranks."""
    here = Q(holdings__ends__isnull=True, holdings__spot__rank__in=rank_ids)
    alternates = Q(alternate_place__rank__in=rank_ids)
    return active_members(season).filter(here | alternates).distinct()


def search_members(queryset: QuerySet[Member], text: str) -> QuerySet[Member]:
    """Members whose names, number, spot or part hold every word of the text."""
    for word in text.replace("\0", " ").split():
        clean = plain(word)
        found = Q(person__search__contains=clean) if clean else Q()
        found |= Q(qualifications__part__code__icontains=word)
        if "-" in word:
            label, _, number = word.rpartition("-")
            if whole_number(number) is not None:
                found |= Q(
                    holdings__spot__rank__label=label,
                    holdings__spot__number=whole_number(number),
                    holdings__ends__isnull=True,
                )
        queryset = queryset.filter(found)
    return queryset.distinct()


def ranks(season: Season) -> QuerySet[Rank]:
    """The season's ranks with leader and second."""
    return Rank.objects.filter(season=season).select_related("leader__person", "second__person")


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


def parts(season: Season) -> QuerySet[Part]:
    """Parts with their instruments."""
    return Part.objects.filter(season=season).select_related("instrument")


def instruments(season: Season) -> QuerySet[Instrument]:
    """Instruments with their parts."""
    return Instrument.objects.filter(season=season).prefetch_related("parts")


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
        Member.objects.filter(season=season).count(),
        Spot.objects.filter(rank__season=season).count(),
        Holding.objects.filter(spot__rank__season=season, ends__isnull=True).count(),
        AlternatePlace.objects.filter(rank__season=season).count(),
    )
