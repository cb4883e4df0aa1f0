"""Spots and alternates' places of a part that is split."""

from __future__ import annotations

from collections.abc import Mapping

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from roster.people.models import Part
from roster.people.ties import Place
from roster.ranks.models import AlternatePlace, Holding, Spot
from roster.ranks.services.alternates import add_alternate, remove_alternate


def places_of(part: Part) -> list[Place]:
    """The spots that need a part with their holders, and its alternates' places."""
    held = Holding.objects.filter(spot__part=part, ends__isnull=True)
    holders = dict(held.values_list("spot_id", "member_id"))
    spots = Spot.objects.filter(part=part).select_related("rank")
    places = [Place(f"spot-{s.pk}", f"spot {s.label}", holders.get(s.pk)) for s in spots]
    alternates = AlternatePlace.objects.filter(part=part).select_related("rank")
    return places + [
        Place(f"alternate-{p.pk}", f"alternate {p.standing}, {p.rank}", p.member_id)
        for p in alternates
    ]


def move_places(*, actor: User, part: Part, moves: Mapping[str, Part]) -> None:
    """Places of a part, by key, need another part; alternates come behind those who are there,
    in their old order."""
    with recorded(actor, "split part"):
        for spot in Spot.objects.filter(part=part).select_related("rank"):
            if f"spot-{spot.pk}" in moves:
                spot.part = moves[f"spot-{spot.pk}"]
                spot.save()
        places = AlternatePlace.objects.filter(part=part).select_related("member", "rank")
        for place in list(places.order_by("rank", "standing")):
            new = moves.get(f"alternate-{place.pk}")
            if new is not None:
                # Those who left before it have moved it up.
                place.refresh_from_db()
                member, rank = place.member, place.rank
                remove_alternate(actor=actor, place=place)
                add_alternate(actor=actor, member=member, rank=rank, part=new)
