"""Words of files that name spots and ranks: what they may be changed to on the page of words."""

from __future__ import annotations

from bandops.lib.imports.words import Choice, WordKind, register_words
from roster.people.models import Season
from roster.ranks.models import Rank, Spot


def _spots(season: Season) -> list[Choice]:
    spots = Spot.objects.filter(rank__season=season).select_related("rank", "part")
    return [Choice(str(spot.pk), f"{spot.label} ({spot.part})") for spot in spots]


def _ranks(season: Season) -> list[Choice]:
    return [Choice(str(rank.pk), str(rank)) for rank in Rank.objects.filter(season=season)]


SPOTS = register_words(WordKind("spot", "spot", _spots))
RANKS = register_words(WordKind("rank", "rank", _ranks))
