"""Which spots to worry about, against every case of who is out."""

from __future__ import annotations

from itertools import product
from math import prod

import pytest

from drill.backups.core.coverage import SegmentCoverage, SpotCoverage, State
from drill.backups.core.worry import worries

OUT = {"ana": 0.2, "ben": 0.5, "cai": 0.1, "dag": 0.4}


def by_every_case(own: str, hangs_on: tuple[str, ...]) -> float:
    """The same chance by adding up every case of who is out."""
    total = 0.0
    for case in product((True, False), repeat=len(OUT)):
        out = dict(zip(OUT, case, strict=True))
        if out[own] and (not hangs_on or any(out[m] for m in hangs_on)):
            total += prod(OUT[m] if out[m] else 1 - OUT[m] for m in OUT)
    return total


def test_bare_and_thin_spots_by_how_likely_they_open() -> None:
    rows = (
        SpotCoverage("1", "ana", State.BARE),
        SpotCoverage("2", "ben", State.THIN, hangs_on=("cai", "dag")),
        SpotCoverage("3", "cai", State.SAFE),
        SpotCoverage("4", None, State.HOLE),
        SpotCoverage("5", "dag", State.THIN, hangs_on=("ana",)),
    )
    found = worries([SegmentCoverage("g", rows, ())], OUT)
    assert [w.spot for w in found] == ["2", "1", "5"]
    for worry, own, hangs_on in zip(
        found, ("ben", "ana", "dag"), (("cai", "dag"), (), ("ana",)), strict=True
    ):
        assert worry.chance == pytest.approx(by_every_case(own, hangs_on))


def test_a_spot_counts_by_its_worst_segment_and_the_unnamed_are_there() -> None:
    thin = SpotCoverage("1", "ana", State.THIN, hangs_on=("ben",))
    bare = SpotCoverage("1", "ana", State.BARE)
    unknown = SpotCoverage("2", "eve", State.BARE)
    segments = [SegmentCoverage("g", (thin, unknown), ()), SegmentCoverage("h", (bare,), ())]
    (only,) = worries(segments, OUT)
    assert (only.spot, only.chance) == ("1", 0.2)
