"""The places of a show."""

from __future__ import annotations

from django.db.models import Q

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import clean_name
from drill.shows.models import Place, PlaceMap, Position, Show
from drill.shows.ties import published_versions
from roster.ranks import queries as rank_queries


def add_place(*, actor: User, show: Show, label: str) -> Place:
    """A place with a label of its own in the show."""
    place = Place(show=show, label=clean_name(label))
    place.full_clean()
    with recorded(actor, "add place"):
        place.save()
    return place


def rename_place(*, actor: User, place: Place, label: str) -> Place:
    """Give a place another label. The spot that marched it because their labels were the same
    goes on marching it, unless a spot of the new label does so now."""
    with recorded(actor, "rename place"):
        old, place.label = Place.objects.get(pk=place.pk).label, clean_name(label)
        place.full_clean()
        place.save()
        season = place.show.season
        by_label = {spot.label: spot for spot in rank_queries.spots(season)}
        spot = by_label.get(old)
        maps = PlaceMap.objects.filter(show=place.show)
        told = spot is not None and maps.filter(Q(spot=spot) | Q(place=place)).exists()
        if spot is not None and not told and place.label not in by_label:
            PlaceMap.objects.create(show=place.show, spot=spot, place=place)
    return place


def remove_place(*, actor: User, place: Place) -> None:
    """Remove a place with where it stands; refused where a published lineup needs it."""
    with recorded(actor, "remove place"):
        used = published_versions(place.show.season_id)
        stands = Position.objects.filter(place=place, set__version__in=used)
        position = stands.select_related("set__version__show").first()
        if position is not None:
            raise Refused(
                f"{place} stands in {position.set.version}, which a published lineup was made "
                "for, and stays."
            )
        place.delete()
