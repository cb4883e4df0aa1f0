"""Ranks and spots, and the holding that runs on a spot."""

from __future__ import annotations

import datetime

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Member
from roster.ranks.models import Holding, Rank, Spot


def save_rank(*, actor: User, rank: Rank) -> Rank:
    """Add or change a rank."""
    rank.full_clean()
    with recorded(actor, "save rank"):
        rank.save()
    return rank


def save_spot(*, actor: User, spot: Spot) -> Spot:
    """Add or change a spot; its holder must play the new part."""
    spot.full_clean()
    with recorded(actor, "save spot"):
        holding = open_holding(spot=spot) if spot.pk else None
        if holding and not holding.member.qualifications.filter(part=spot.part).exists():
            raise Refused(f"{holding.member} holds {spot} and does not play {spot.part}.")
        spot.save()
    return spot


def open_holding(*, spot: Spot | None = None, member: Member | None = None) -> Holding | None:
    """The holding without an end, of a spot or of a member."""
    holdings = Holding.objects.filter(ends__isnull=True).select_related(
        "spot__rank", "member__person"
    )
    return holdings.filter(spot=spot).first() if spot else holdings.filter(member=member).first()


def lock_rows(spots: list[Spot], members: list[Member]) -> None:
    """Lock rows in id order, so that two writers cannot wait for each other."""
    list(Spot.objects.select_for_update().filter(pk__in=[s.pk for s in spots]).order_by("pk"))
    ids = [m.pk for m in members]
    list(Member.objects.select_for_update().filter(pk__in=ids).order_by("pk"))


def close_holding(holding: Holding, on: datetime.date) -> None:
    """End a holding on a day; one that would have no day at all is removed."""
    if on <= holding.starts:
        holding.delete()
        return
    holding.ends = on
    holding.save()
