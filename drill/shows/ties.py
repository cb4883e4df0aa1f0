"""What later rooms know of a show's versions: which are published, and what a variant is for."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.ties import Tie
from roster.people.models import Season


@dataclass(frozen=True)
class Occasion:
    """Something with a day for which a version was published."""

    name: str
    date: datetime.date


PUBLISHED: Tie[[int], set[int]] = Tie()
"""season id -> ids of the versions that something published was made for"""
SHOWN_AT: Tie[[Season], dict[int, list[Occasion]]] = Tie()
"""version id -> where members go by it now, in order"""
MADE_FOR: Tie[[Iterable[int]], dict[int, str]] = Tie()
"""id of a variant -> what it was made for"""


def published_versions(season_id: int) -> set[int]:
    """Ids of the season's versions that are kept as they are."""
    return set().union(*PUBLISHED.ask(season_id))
