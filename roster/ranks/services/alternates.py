"""Alternates of a rank in their standing."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from roster.people.models import Member, Part
from roster.ranks.models import AlternatePlace, Rank
from roster.ranks.services.spots import lock_rows, open_holding


def add_alternate(
    *, actor: User, member: Member, rank: Rank, part: Part, standing: int | None = None
) -> AlternatePlace:
    """The member becomes an alternate of a rank and part, at the end unless a standing is given."""
    with recorded(actor, "add alternate"):
        lock_rows([], [member])
        if open_holding(member=member):
            raise Refused(f"{member} holds a spot: an alternate has none.")
        if AlternatePlace.objects.filter(member=member).exists():
            raise Refused(f"{member} is an alternate already.")
        if not member.qualifications.filter(part=part).exists():
            raise Refused(f"{member} does not play {part}.")
        others = list(
            AlternatePlace.objects.select_for_update()
            .filter(rank=rank, part=part)
            .order_by("standing")
        )
        place = AlternatePlace.objects.create(member=member, rank=rank, part=part, standing=None)
        at = len(others) if standing is None else min(max(standing - 1, 0), len(others))
        _write_standings([*others[:at], place, *others[at:]])
    place.refresh_from_db()
    return place


def remove_alternate(*, actor: User, place: AlternatePlace) -> None:
    """The alternate leaves the place; those behind move up."""
    with recorded(actor, "remove alternate"):
        rank, part = place.rank, place.part
        place.delete()
        _write_standings(_places(rank, part))


def reorder_alternates(*, actor: User, rank: Rank, part: Part, member_ids: list[int]) -> None:
    """Give the alternates of a rank and part a new order."""
    with recorded(actor, "reorder alternates"):
        places = {p.member_id: p for p in _places(rank, part)}
        if sorted(places) != sorted(member_ids):
            raise Refused("The alternates changed meanwhile: look again and reorder.")
        _write_standings([places[pk] for pk in member_ids])


def _places(rank: Rank, part: Part) -> list[AlternatePlace]:
    places = AlternatePlace.objects.select_for_update().filter(rank=rank, part=part)
    return list(places.order_by("standing"))


def _write_standings(places: list[AlternatePlace]) -> None:
    """Standings are unique, so they are cleared before they are written."""
    AlternatePlace.objects.filter(pk__in=[p.pk for p in places]).update(standing=None)
    for standing, place in enumerate(places, start=1):
        place.standing = standing
    AlternatePlace.objects.bulk_update(places, ["standing"])
