"""How old people's measurements are, and whether they are to be taken again."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass

from roster.equipment import queries
from roster.equipment.models import Measurement, Wearer


@dataclass(frozen=True)
class Staleness:
    """When somebody was measured last; ``growing``: they said so, or it shows."""

    taken_on: datetime.date | None
    growing: bool
    is_stale: bool

    @property
    def is_to_take(self) -> bool:
        """Never measured, or too long ago."""
        return self.taken_on is None or self.is_stale


def staleness(persons: Collection[int], today: datetime.date) -> dict[int, Staleness]:
    """Person -> how old their newest measurements are."""
    rows: dict[int, list[Measurement]] = defaultdict(list)
    for row in Measurement.objects.filter(person__in=persons, converted=False):
        rows[row.person_id].append(row)
    said = set(
        Wearer.objects.filter(person__in=persons, growing=True).values_list("person", flat=True)
    )
    return {person: _of(rows[person], person in said, today) for person in persons}


def _of(rows: list[Measurement], said: bool, today: datetime.date) -> Staleness:
    growing = said or queries.grew(rows)
    if not rows:
        return Staleness(None, growing, False)
    newest = max(row.taken_on for row in rows)
    stale = queries.is_stale(newest, growing=growing, today=today)
    return Staleness(newest, growing, stale)
