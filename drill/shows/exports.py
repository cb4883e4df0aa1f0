"""Coordinates as a table, in the columns that come in."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal

from bandops.lib.exports.kinds import Export, Rows, add_export
from drill.field.core.field import UNITS_PER_STEP
from drill.shows.models import Position
from roster.people.models import Season


def _coordinates(season: Season) -> tuple[Sequence[str], Rows]:
    positions = Position.objects.filter(set__version__show__season=season)
    positions = positions.select_related("set__version__show", "dot").order_by(
        "set__version__show__name", "set__version__order", "set__order", "dot__label"
    )
    point = ("dot", "across", "depth")
    headers = ("show", "version", "field", "set", "counts", "subset", "tempo", *point)
    return headers, [
        (
            p.set.version.show.name,
            p.set.version.label,
            p.set.version.show.field_type,
            p.set.label,
            p.set.counts,
            "yes" if p.set.is_subset else "no",
            p.set.tempo or "",
            p.dot.label,
            _steps(p.x),
            _steps(p.y),
        )
        for p in positions
    ]


def _steps(units: int) -> Decimal:
    """Steps to four places, which name every 1/32 inch."""
    return round(Decimal(units) / UNITS_PER_STEP, 4).normalize() + 0


add_export(Export("coordinates", "Coordinates", _coordinates, 7))
