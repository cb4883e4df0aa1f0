"""A show of three sets for the small band."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from bandops.lib.accounts.models import User
from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from tests.factories import Band

SignIn = Callable[[User | None], Client]


@pytest.fixture
def show(band: Band) -> Show:
    """Two sets and a subset: rank 1 in a line, four steps apart, that goes 8 back."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    dots = [Dot.objects.create(show=show, label=f"1-{n}") for n in (1, 2, 3, 10)]
    for order, (label, counts, depth) in enumerate((("1", 0, 20), ("1A", 8, 24), ("2", 16, 40)), 1):
        it = DrillSet.objects.create(
            version=version, order=order, label=label, counts=counts, tempo=144 if counts else None
        )
        it.is_subset = label == "1A"
        it.save()
        for n, dot in enumerate(dots):
            Position.objects.create(set=it, dot=dot, x=4 * n * STEP, y=depth * STEP)
    return show
