"""Finding ranks and spots by what a file calls them."""

from __future__ import annotations

import re

from bandops.lib.imports.tables import Cell, Oddity
from bandops.lib.imports.values import looks_like_date
from bandops.lib.names import plain
from roster.people.models import Season
from roster.ranks.models import Rank, Spot

SPOT = re.compile(r"^\s*(.+?)\s*[-–—:/]\s*(\d{1,3})\s*$")
LABEL_LENGTH = 20


def rank_label(text: str) -> str:
    """A rank's label as written, without the word before it; ValueError for none."""
    label = re.sub(r"^rank\s+", "", text.strip(), flags=re.IGNORECASE)
    if not plain(label):
        raise ValueError(f"“{text}” is not the label of a rank.")
    if len(label) > LABEL_LENGTH:
        raise ValueError(f"“{text}” is longer than {LABEL_LENGTH} characters.")
    return label


def parse_spot(cell: Cell) -> tuple[str, int]:
    """(rank label, number) of a spot written 4-11; ValueError when a spreadsheet spoiled it."""
    if cell.oddity is Oddity.DATE or looks_like_date(cell.text):
        raise ValueError(
            f"“{cell.text}” looks like a date that a spreadsheet made of a spot such as 5-11: "
            "format the column as text and type it again."
        )
    match = SPOT.match(cell.text)
    if match is None:
        raise ValueError(f"“{cell.text}” is not a spot such as 4-11.")
    return rank_label(match[1]), int(match[2])


def looks_like_spot(text: str) -> bool:
    """Written 4-11; a phone number or a date is none."""
    return SPOT.match(text) is not None and len(text) <= 8 and not looks_like_date(text)


class SpotIndex:
    """The season's spots by rank label and number."""

    def __init__(self, season: Season) -> None:
        self.ranks = {plain(r.label): r for r in Rank.objects.filter(season=season)}
        spots = Spot.objects.filter(rank__season=season).select_related("rank", "part")
        self.spots = {(plain(s.rank.label), s.number): s for s in spots}

    def find(self, cell: Cell) -> Spot:
        """The spot; ValueError when there is none."""
        label, number = parse_spot(cell)
        found = self.spots.get((plain(label), number))
        if found is None:
            raise ValueError(f"No spot {label}-{number} this season.")
        return found

    def rank(self, text: str) -> Rank:
        """The rank; ValueError when there is none."""
        found = self.ranks.get(plain(rank_label(text))) if text else None
        if found is None:
            raise ValueError(f"No rank “{text}” this season.")
        return found
