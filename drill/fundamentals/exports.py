"""Abbreviations as a table, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.fundamentals.models import Abbreviation
from roster.people.models import Season


def _abbreviations(season: Season) -> tuple[Sequence[str], Rows]:
    rows = Abbreviation.objects.filter(season=season)
    return ("abbreviation", "says"), list(rows.values_list("word", "says"))


add_export(Export("abbreviations", "Abbreviations", _abbreviations, 7))
