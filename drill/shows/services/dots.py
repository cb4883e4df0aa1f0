"""The dots of a show."""

from __future__ import annotations

from django.db.models import Q

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import clean_name
from drill.shows.models import Dot, DotMap, Position, Show
from drill.shows.ties import published_versions
from roster.ranks import queries as rank_queries


def add_dot(*, actor: User, show: Show, label: str) -> Dot:
    """A dot with a label of its own in the show."""
    dot = Dot(show=show, label=clean_name(label))
    dot.full_clean()
    with recorded(actor, "add dot"):
        dot.save()
    return dot


def rename_dot(*, actor: User, dot: Dot, label: str) -> Dot:
    """Give a dot another label. The spot that marched it because their labels were the same
    goes on marching it, unless a spot of the new label does so now."""
    with recorded(actor, "rename dot"):
        old, dot.label = Dot.objects.get(pk=dot.pk).label, clean_name(label)
        dot.full_clean()
        dot.save()
        season = dot.show.season
        by_label = {spot.label: spot for spot in rank_queries.spots(season)}
        spot = by_label.get(old)
        maps = DotMap.objects.filter(show=dot.show)
        told = spot is not None and maps.filter(Q(spot=spot) | Q(dot=dot)).exists()
        if spot is not None and not told and dot.label not in by_label:
            DotMap.objects.create(show=dot.show, spot=spot, dot=dot)
    return dot


def remove_dot(*, actor: User, dot: Dot) -> None:
    """Remove a dot with where it stands; refused where a published lineup needs it."""
    with recorded(actor, "remove dot"):
        used = published_versions(dot.show.season_id)
        stands = Position.objects.filter(dot=dot, set__version__in=used)
        position = stands.select_related("set__version__show").first()
        if position is not None:
            raise Refused(
                f"{dot} is in {position.set.version}, which a published lineup was made "
                "for, so it stays."
            )
        dot.delete()
