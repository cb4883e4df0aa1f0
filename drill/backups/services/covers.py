"""Named covers of a spot."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.lineup.models import Cover
from roster.people.models import Member
from roster.ranks.models import Spot


def add_cover(*, actor: User, spot: Spot, member: Member) -> Cover:
    """Name a member as the spot's next cover."""
    with recorded(actor, "name cover"):
        Spot.objects.select_for_update().get(pk=spot.pk)
        if not member.qualifications.filter(part=spot.part_id).exists():
            raise Refused(f"{member} does not play {spot.part}, which {spot} needs.")
        if member.holdings.filter(spot=spot, ends__isnull=True).exists():
            raise Refused(f"{member} holds {spot}.")
        covers = Cover.objects.filter(spot=spot)
        if covers.filter(member=member).exists():
            raise Refused(f"{member} covers {spot} already.")
        return Cover.objects.create(spot=spot, member=member, order=covers.count() + 1)


def remove_cover(*, actor: User, cover: Cover) -> None:
    """The member no longer covers the spot; those behind move up."""
    with recorded(actor, "remove cover"):
        spot = cover.spot
        Spot.objects.select_for_update().get(pk=spot.pk)
        Cover.objects.filter(pk=cover.pk).delete()
        _renumber(spot)


def make_first_cover(*, actor: User, cover: Cover) -> None:
    """The cover goes before all others of the spot."""
    with recorded(actor, "make first cover"):
        Spot.objects.select_for_update().get(pk=cover.spot_id)
        if not Cover.objects.filter(pk=cover.pk).delete()[0]:
            raise Refused(f"The covers of {cover.spot} were changed meanwhile: look again.")
        others = list(Cover.objects.filter(spot=cover.spot_id).order_by("-order"))
        for other in others:
            other.order += 1
            other.save()
        Cover.objects.create(spot=cover.spot, member=cover.member, order=1)


def _renumber(spot: Spot) -> None:
    """Orders 1, 2, … without gaps; ascending, so that no two meet on the way."""
    for order, cover in enumerate(Cover.objects.filter(spot=spot).order_by("order"), 1):
        if cover.order != order:
            cover.order = order
            cover.save()
