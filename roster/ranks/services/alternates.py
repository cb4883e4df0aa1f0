"""Alternates in their standing, pool by pool."""

from __future__ import annotations

from django.db.models import QuerySet

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.enums import AlternatePool
from roster.people.models import Member, Part, Season
from roster.ranks.models import AlternatePlace, Rank
from roster.ranks.services.spots import lock_rows, open_holding


def add_alternate(
    *, actor: User, member: Member, rank: Rank, part: Part, standing: int | None = None
) -> AlternatePlace:
    """The member becomes an alternate of a rank and part, last in their pool unless a standing is
    given."""
    with recorded(actor, "add alternate"):
        lock_rows([], [member])
        if open_holding(member=member):
            raise Refused(f"{member} holds a spot, so they can't be an alternate.")
        if AlternatePlace.objects.filter(member=member).exists():
            raise Refused(f"{member} is already an alternate.")
        if not member.qualifications.filter(part=part).exists():
            raise Refused(f"{member} does not play {part}.")
        others = list(_locked(_pool(rank, part)))
        place = AlternatePlace.objects.create(member=member, rank=rank, part=part, standing=None)
        at = len(others) if standing is None else min(max(standing - 1, 0), len(others))
        write_standings([*others[:at], place, *others[at:]], rank.season)
    place.refresh_from_db()
    return place


def remove_alternate(*, actor: User, place: AlternatePlace) -> None:
    """The alternate leaves the place; those behind move up."""
    with recorded(actor, "remove alternate"):
        rank, part = place.rank, place.part
        place.delete()
        write_standings(list(_locked(_pool(rank, part))), rank.season)


def reorder_alternates(*, actor: User, rank: Rank, part: Part, member_ids: list[int]) -> None:
    """Give the alternates of a part in the rank's pool a new order: the rank's own, or those of
    the part in every rank where the season's pools are wider."""
    with recorded(actor, "reorder alternates"):
        places = {p.member_id: p for p in _locked(_pool(rank, part))}
        if sorted(places) != sorted(member_ids):
            raise Refused("The alternates just changed: look again and reorder.")
        write_standings([places[pk] for pk in member_ids], rank.season)


def write_standings(places: list[AlternatePlace], season: Season) -> None:
    """Give a pool's alternates the standings 1, 2, …: unique, so cleared before written."""
    AlternatePlace.objects.filter(pk__in=[p.pk for p in places]).update(standing=None)
    for standing, place in enumerate(places, start=1):
        place.standing, place.pool = standing, season.alternates_by
    AlternatePlace.objects.bulk_update(places, ["standing", "pool"])


def _pool(rank: Rank, part: Part) -> QuerySet[AlternatePlace]:
    """The alternates of the part among whom one of the rank has their standing."""
    places = AlternatePlace.objects.filter(part=part)
    return places.filter(rank=rank) if rank.season.alternates_by == AlternatePool.RANK else places


def _locked(places: QuerySet[AlternatePlace]) -> QuerySet[AlternatePlace]:
    return places.select_for_update().order_by("standing")
