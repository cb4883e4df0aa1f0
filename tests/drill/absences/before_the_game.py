"""The week of the game, for tests of what people say about its days."""

from __future__ import annotations

import datetime
from collections.abc import Iterator

import pytest
import time_machine

from tests.factories import Band


@pytest.fixture(autouse=True)
def wednesday(band: Band) -> Iterator[None]:
    """Three days before the game, noon by the band's clock."""
    day = band.event.date - datetime.timedelta(3)
    noon = datetime.datetime.combine(day, datetime.time(17), datetime.UTC)
    with time_machine.travel(noon, tick=False):
        yield
