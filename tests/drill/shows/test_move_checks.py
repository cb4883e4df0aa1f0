"""Words of ways in the checks: run, compared with the counts, unknown where not understood."""

from __future__ import annotations

import pytest

from drill.shows.core.move_findings import Fault
from drill.shows.core.moves import PathKind
from drill.shows.models import Dot, DrillSet, Path, Position, Show, ShowVersion, StepLimit
from drill.shows.services.move_checks import check_version, drill_of
from tests.factories import Band

pytestmark = pytest.mark.django_db

STEP = 720


@pytest.fixture
def version(band: Band) -> ShowVersion:
    """1-1 goes eight steps to the back and eight to side 1 in 16 counts, 1-2 stands in the corner
    of that way."""
    show = Show.objects.get(name="Tidewheel")
    made = ShowVersion.objects.create(show=show, label="first", order=1)
    for order, (x, y) in enumerate(((0, 20), (-8, 28)), 1):
        page = DrillSet.objects.create(version=made, order=order, label=str(order), counts=16)
        for label, at in (("1-1", (x, y)), ("1-2", (0, 28))):
            dot, _ = Dot.objects.get_or_create(show=show, label=label)
            Position.objects.create(set=page, dot=dot, x=at[0] * STEP, y=at[1] * STEP)
    return made


def say(version: ShowVersion, words: str) -> None:
    page = version.sets.get(label="2")
    dot = Dot.objects.get(show=version.show, label="1-1")
    Path.objects.create(set=page, dot=dot, words=words, curved=not words)


def faults(band: Band, version: ShowVersion) -> list[Fault]:
    return [f.fault for f in check_version(version, band.season).found]


def test_straight_nobody_is_in_the_way_but_by_the_words_somebody_is(
    band: Band, version: ShowVersion
) -> None:
    assert faults(band, version) == []
    say(version, "facing back, forward 8, left flank, forward 8")
    way = drill_of(version, band.season).ways[1, 0]
    assert way.points is not None
    assert way.points[8].tolist() == [0, 28 * STEP]
    assert way.points[-1].tolist() == [-8 * STEP, 28 * STEP]
    assert faults(band, version) == [Fault.CLOSE]


def test_a_direction_is_judged_by_the_facing_of_the_words(band: Band, version: ShowVersion) -> None:
    StepLimit.objects.create(season=band.season, direction="backward", largest_step=700)
    say(version, "facing back, forward 8, left flank, forward 8")
    assert Fault.STEP not in faults(band, version)
    Path.objects.update(words="facing front, backward 8, right flank, forward 8")
    assert Fault.STEP in faults(band, version)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        ("", [Fault.UNCHECKED]),
        ("zigzag 9", [Fault.UNCHECKED]),
        ("facing back, forward 8", [Fault.COUNTS, Fault.UNCHECKED]),
    ],
)
def test_what_is_not_described_is_not_checked(
    band: Band, version: ShowVersion, words: str, expected: list[Fault]
) -> None:
    say(version, words)
    assert faults(band, version) == expected
    assert drill_of(version, band.season).move(1).kind(0) is PathKind.UNKNOWN
