"""Shows, and which place each spot marches."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.shows.models import PlaceMap, Show
from roster.ranks.models import Spot


def save_show(*, actor: User, show: Show, name: str, field_type: str) -> Show:
    """Add a show, or change its name and the field it is written for."""
    show.name, show.field_type = name, field_type
    others = Show.objects.filter(season=show.season_id).exclude(pk=show.pk)
    if others.filter(name=name).exists():
        raise Refused(f"There is a show named {name} already.")
    show.full_clean()
    with recorded(actor, "change show" if show.pk else "add show"):
        show.save()
    return show


def map_places(*, actor: User, show: Show, places: dict[Spot, Any]) -> None:
    """Which place each spot marches; None for the place of its own label."""
    with recorded(actor, "map places"):
        PlaceMap.objects.filter(show=show, spot__in=places).delete()
        chosen = [(spot, place) for spot, place in places.items() if place is not None]
        taken = {place.pk for _, place in chosen}
        clash = PlaceMap.objects.filter(show=show, place__in=taken).first()
        if clash is not None or len(taken) < len(chosen):
            raise Refused("Two spots cannot march one place.")
        PlaceMap.objects.bulk_create(
            PlaceMap(show=show, spot=spot, place=place) for spot, place in chosen
        )
