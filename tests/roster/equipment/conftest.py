"""The small store of these tests."""

from __future__ import annotations

import pytest

from tests.factories import Band, Cast
from tests.factories.store import Store, make_store


@pytest.fixture
def store(band: Band, cast: Cast) -> Store:
    """Three jackets and a sousaphone with its bell, all in store; Cai and Hal are measured."""
    made = make_store(cast.equipment, band.parts["sousaphone"].instrument)
    for tag, chest in (("J-1", 40), ("J-2", 42), ("J-3", 44)):
        made.item("Jacket", tag, chest=chest, sleeve=34)
    made.item("Hat", "H-1", head="M")
    made.item("Sousaphone", "SO-1")
    bell = made.item("Podium", "SB-1")
    bell.part_of = made.items["SO-1"]
    bell.save()
    made.measured(band.members["Cai Ørnberg"], chest=38, sleeve=33.5, head=22)
    made.measured(band.members["Hal Brook"], chest=42, sleeve=33.5, head=24)
    return made
