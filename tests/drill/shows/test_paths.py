"""Words kept for a dot: run between its coordinates, in pictures, checks and relearning."""

from __future__ import annotations

import pytest

from bandops.lib.accounts.models import User
from bandops.lib.keys import key
from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.fundamentals.models import PassedFundamental
from drill.fundamentals.services.examples import add_offered
from drill.fundamentals.services.fundamentals import built_in
from drill.lineup.services.problem_builder import build
from drill.shows.core.motion import at_count
from drill.shows.core.move_checks import findings
from drill.shows.core.move_findings import Fault
from drill.shows.core.moves import PathKind
from drill.shows.models import Dot, DrillSet, Path, Position, Show, ShowVersion
from drill.shows.services.motion import frames_of
from drill.shows.services.move_checks import drill_of, limits_of
from drill.shows.services.paths import codes_of, described_ways, moves_of
from drill.shows.services.words import mark_curved, save_words
from drill.shows.wording import finding_words
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("words are kept by ON CONFLICT")]
CORNER = "facing front, forward 8, left flank, forward 8"


@pytest.fixture
def version(band: Band) -> ShowVersion:
    """1-2 goes 8 steps towards the press box and 8 to its left; 1-3 goes straight."""
    show = Show.objects.get(name="Tidewheel")
    made = ShowVersion.objects.create(show=show, label="one", order=1)
    first = DrillSet.objects.create(version=made, order=1, label="1")
    second = DrillSet.objects.create(version=made, order=2, label="2", counts=16)
    for label, (x, y) in {"1-2": (0, 20), "1-3": (4, 20)}.items():
        dot = Dot.objects.create(show=show, label=label)
        Position.objects.create(set=first, dot=dot, x=x * STEP, y=y * STEP)
        ends = (x + 8, y - 8) if label == "1-2" else (x, y)
        Position.objects.create(set=second, dot=dot, x=ends[0] * STEP, y=ends[1] * STEP)
    return made


def keep(version: ShowVersion, actor: User, words: str, label: str = "1-2") -> None:
    save_words(
        actor=actor,
        season=version.show.season,
        drill_set=version.sets.get(label="2"),
        dots=[version.show.dots.get(label=label)],
        words=words,
    )


def add(version: ShowVersion, actor: User, code: str) -> None:
    add_offered(actor=actor, season=version.show.season, code=code)


def way_of(version: ShowVersion, label: str) -> PathKind:
    drill = drill_of(version, version.show.season)
    found = drill.ways.get((1, drill.dots.index(label)))
    return found.kind if found else PathKind.STRAIGHT


@pytest.mark.source("common practice, no source: a flank turns a quarter to its side")
def test_words_that_end_at_the_coordinate_are_walked(version: ShowVersion, cast: Cast) -> None:
    keep(version, cast.staff, CORNER)
    frames = frames_of(version, version.show.season)
    assert at_count(frames, 1, 8)["1-2"] == (0, 12 * STEP)
    assert at_count(frames, 1, 12)["1-2"] == (4 * STEP, 12 * STEP)
    assert at_count(frames, 1, 16)["1-2"] == (8 * STEP, 12 * STEP)
    assert at_count(frames, 1, 8)["1-3"] == (4 * STEP, 20 * STEP)
    assert way_of(version, "1-2") is PathKind.DESCRIBED
    assert way_of(version, "1-3") is PathKind.STRAIGHT


def test_what_rounding_left_is_spread_over_the_counts(version: ShowVersion, cast: Cast) -> None:
    keep(version, cast.staff, CORNER)
    end = Position.objects.get(set__label="2", dot__label="1-2")
    end.x += 80
    end.save()
    frames = frames_of(version, version.show.season)
    assert at_count(frames, 1, 16)["1-2"] == (8 * STEP + 80, 12 * STEP)
    assert at_count(frames, 1, 8)["1-2"] == (40, 12 * STEP)


@pytest.mark.parametrize("words", ["facing front, forward 16", "forward 8", "mark time 16"])
def test_words_that_end_elsewhere_are_not_checked(
    version: ShowVersion, cast: Cast, words: str
) -> None:
    keep(version, cast.staff, words)
    assert way_of(version, "1-2") is PathKind.UNKNOWN
    (found,) = described_ways(version, version.show.season).values()
    assert found.points is None and found.codes
    drill = drill_of(version, version.show.season)
    (unchecked,) = [
        finding_words(f, drill)
        for f in findings(drill, limits_of(version.show.season))
        if f.fault is Fault.UNCHECKED
    ]
    assert unchecked == "1 dot whose words do not end at the coordinate: 1-2"


@pytest.mark.source("common practice, no source: a follower's way is only in the picture")
def test_a_way_as_drawn_joins_the_exact_moves(version: ShowVersion, cast: Cast) -> None:
    add(version, cast.staff, "trail-the-one-ahead")
    keep(version, cast.staff, "facing front, forward 4, trail the one ahead 8, left 4")
    frames = frames_of(version, version.show.season)
    # From (0, 20) forward 4 to (0, 16); the last four go left, to side 2, and end at (8, 12).
    assert at_count(frames, 1, 4)["1-2"] == (0, 16 * STEP)
    assert at_count(frames, 1, 8)["1-2"] == (2 * STEP, 14 * STEP)
    assert at_count(frames, 1, 12)["1-2"] == (4 * STEP, 12 * STEP)
    assert at_count(frames, 1, 16)["1-2"] == (8 * STEP, 12 * STEP)


@pytest.mark.source("common practice, no source: a line swings a quarter about its hinge")
def test_a_line_swings_about_its_hinge(version: ShowVersion, cast: Cast) -> None:
    add(version, cast.staff, "line-swing-left")
    keep(version, cast.staff, "facing front, line swing left 16")
    frames = frames_of(version, version.show.season)
    # A quarter to the left from (0, 20) to (8, 12): about (8, 20), eight steps away.
    x, y = at_count(frames, 1, 8)["1-2"]
    assert (x, y) == pytest.approx(((8 - 32**0.5) * STEP, (20 - 32**0.5) * STEP), abs=1)
    assert at_count(frames, 1, 16)["1-2"] == (8 * STEP, 12 * STEP)


def test_a_way_as_drawn_is_said_to_be_unchecked(version: ShowVersion, cast: Cast) -> None:
    add(version, cast.staff, "trail-the-one-ahead")
    keep(version, cast.staff, "trail 16")
    drill = drill_of(version, version.show.season)
    (unchecked,) = [
        finding_words(f, drill)
        for f in findings(drill, limits_of(version.show.season))
        if f.fault is Fault.UNCHECKED
    ]
    assert unchecked == "1 dot whose words leave part of the move to the picture: 1-2"


@pytest.mark.parametrize(
    ("facing", "code"),
    [
        ("front", "lateral-slide-right"),
        ("back", "lateral-slide-left"),
        ("side 1", "forward"),
        ("side 2", "backward"),
    ],
)
def test_steps_along_the_field_ask_for_what_they_are(facing: str, code: str) -> None:
    moves = moves_of(f"facing {facing}, toward side 1 8", built_in())
    assert codes_of(moves) == {code}
    turned = moves_of(f"facing {facing}, to the rear, toward side 2 8", built_in())
    assert codes_of(turned) == {code, "to-the-rear"}


def test_a_curve_is_not_checked(version: ShowVersion, cast: Cast) -> None:
    dot = version.show.dots.get(label="1-2")
    mark_curved(actor=cast.staff, drill_set=version.sets.get(label="2"), dots=[dot])
    assert way_of(version, "1-2") is PathKind.UNKNOWN


def test_words_of_a_fundamental_that_is_gone_are_not_checked(version: ShowVersion) -> None:
    Path.objects.create(
        set=version.sets.get(label="2"),
        dot=version.show.dots.get(label="1-2"),
        words="wobble 16",
    )
    assert way_of(version, "1-2") is PathKind.UNKNOWN


def test_a_fundamental_not_passed_costs_relearning(
    band: Band, version: ShowVersion, cast: Cast
) -> None:
    kit, spot = band.members["Kit Moss"], band.spots["1-2"]
    where = (key(kit.pk), key(spot.pk), key(version.show_id))
    keep(version, cast.staff, CORNER)
    before = build(band.event).loads[where]
    assert before.lacking == (), "nobody keeps a record yet"
    other = band.members["Jon Pell"]
    PassedFundamental.objects.create(member=other, code="forward", passed_on=band.event.date)
    after = build(band.event).loads[where]
    assert set(after.lacking) == {"forward", "left-flank"}
    assert after.cost > before.cost
