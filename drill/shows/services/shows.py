"""Shows, and which dot each spot marches."""

from __future__ import annotations

from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from drill.shows.models import DotMap, Show
from roster.ranks.models import Spot


def save_show(*, actor: User, show: Show, name: str, field_type: str) -> Show:
    """Add a show, or change its name and the field it is written for."""
    show.name, show.field_type = name, field_type
    others = Show.objects.filter(season=show.season_id).exclude(pk=show.pk)
    if others.filter(name=name).exists():
        raise Refused(f"There is already a show named {name}.")
    show.full_clean()
    with recorded(actor, "change show" if show.pk else "add show"):
        show.save()
    return show


def map_dots(*, actor: User, show: Show, dots: dict[Spot, Any]) -> None:
    """Which dot each spot marches; None for the dot of its own label."""
    with recorded(actor, "map dots"):
        DotMap.objects.filter(show=show, spot__in=dots).delete()
        chosen = [(spot, dot) for spot, dot in dots.items() if dot is not None]
        taken = {dot.pk for _, dot in chosen}
        clash = DotMap.objects.filter(show=show, dot__in=taken).first()
        if clash is not None or len(taken) < len(chosen):
            raise Refused("Two spots cannot march one dot.")
        DotMap.objects.bulk_create(DotMap(show=show, spot=spot, dot=dot) for spot, dot in chosen)
