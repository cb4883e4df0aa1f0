"""Sheets of coordinates for the small band, by staff; one drill in every layout."""

from __future__ import annotations

from pathlib import Path as File
from typing import Any

import pytest

from drill.field.core.field import UNITS_PER_STEP
from drill.shows.models import DrillSet, Position
from tests.factories import Band, Cast
from tests.lib.imports_desk import changes
from tests.lib.imports_help import accept_file, all_same, plan_of

SAMPLES = File(__file__).parents[3] / "fixtures" / "samples"
S = UNITS_PER_STEP


class Sheets:
    """Files of coordinates for the small band, by staff."""

    def __init__(self, band: Band, cast: Cast) -> None:
        self.band, self.cast = band, cast

    def plan(self, content: str | bytes) -> Any:
        raw = content.encode() if isinstance(content, str) else content
        return plan_of("coordinates", raw, self.band.season, self.cast.staff)

    def accept(self, content: str | bytes, *, sure: bool = False) -> None:
        plan = self.plan(content)
        assert not plan.faults, plan.faults
        raw = content.encode() if isinstance(content, str) else content
        accept_file("coordinates", raw, self.band.season, self.cast.staff, sure=sure)
        assert all_same(self.plan(content)), changes(self.plan(content))

    def faults(self, content: str | bytes) -> list[tuple[int, str]]:
        return [(f.row, f.column) for f in self.plan(content).faults]

    def warnings(self, content: str | bytes) -> list[tuple[int, str]]:
        return [(f.row, f.column) for f in self.plan(content).warnings]


@pytest.fixture
def sheets(band: Band, cast: Cast) -> Sheets:
    return Sheets(band, cast)


def stored(version: str = "1") -> dict[tuple[str, str], tuple[float, float]]:
    """(set, dot) -> steps."""
    rows = Position.objects.filter(set__version__label=version)
    return {(p.set.label, p.dot.label): (p.x / S, p.y / S) for p in rows.select_related()}


def sets(version: str = "1") -> list[tuple[str, int]]:
    return list(
        DrillSet.objects.filter(version__label=version)
        .order_by("order")
        .values_list("label", "counts")
    )


LONG = """show,set,counts,dot,x,y
Tidewheel,1,0,1-1,-16,28
Tidewheel,1,0,1-2,-12,28
Tidewheel,2,16,1-1,-8,28
Tidewheel,2,16,1-2,-6.5,30
"""
LONG_BELOW_LINES = """Show: Tidewheel
Version: 1

set,counts,spot,across,depth
1,0,1-1,-16,28
1,0,1-2,-12,28
2,16,1-1,-8,28
2,16,1-2,-6.5,30
Total,32,,,
"""
BLOCKS = """Tidewheel
Dot 1-1
set,counts,side to side,front to back
1,0,-16,28
2,16,-8,28
Total,16
Dot 1-2
set,counts,side to side,front to back
1,0,-12,28
2,16,-6.5,30
"""
BLOCKS_WITH_ONE_HEAD = """Show,Tidewheel
1-1
set,running counts,across,depth
1,0,-16,28
2,16,-8,28

1-2
1,0,-12,28
2,16,-6.5,30
"""
BLOCKS_ON_THEIR_SIDE = """Tidewheel
Spot: 1-1
set,1,2
counts,0,16
side to side,-16,-8
front to back,28,28
Spot: 1-2
set,1,2
counts,0,16
side to side,-12,-6.5
front to back,28,30
"""
WIDE = """Tidewheel
dot,part,set 1 x,set 1 y,set 2 x,set 2 y
counts,,0,,16,
1-1,trumpet,-16,28,-8,28
1-2,trumpet,-12,28,-6.5,30
"""
WIDE_OF_TWO_LINES = """Tidewheel
,Set 1,,Set 2 (16 counts),
dot,x,y,x,y
1-1,-16,28,-8,28
1-2,-12,28,-6.5,30
"""
WIDE_LABELS_FIRST = """show,dot,Set 1,,Set 2 (16),
,,across,depth,across,depth
Tidewheel,1-1,-16,28,-8,28
Tidewheel,1-2,-12,28,-6.5,30
"""
WIDE_BY_SETS = """Tidewheel
set,total,1-1 x,1-1 y,1-2 x,1-2 y
1,0,-16,28,-12,28
2,16,-8,28,-6.5,30
"""
WIDE_IN_WORDS = """Tidewheel
dot,Set 1,Set 2
counts,0,16
1-1,"side 1, on the 40, 4 in front of the front hash","S1: on the 45; 4 in front of front hash"
1-2,"side 1, 4 inside the 40, 4 in front of the front hash","S1 1.5 in 45, 2 in front FH"
"""
SHEETS = {
    name: text for name, text in globals().items() if name.startswith(("LONG", "BLOCKS", "WIDE"))
}
