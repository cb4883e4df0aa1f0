"""Who is told, and when."""

from __future__ import annotations

import datetime
from dataclasses import replace
from zoneinfo import ZoneInfo

import pytest

from drill.lineup.core.changes import Change, MemberChange
from drill.lineup.core.problem import LineupProblem, Member, Rank, Segment, Spot
from drill.publishing.core.quiet_hours import wait_until
from drill.publishing.core.set_moves import Jump, moved_spots
from drill.publishing.core.telling import SetMove, who_is_told
from drill.shows.core.version_changes import Picture

ZONE = ZoneInfo("America/Chicago")
NIGHT = (datetime.time(22), datetime.time(7))
FAR = datetime.datetime(2026, 11, 7, 11, tzinfo=ZONE)


DOTS = {"4-1": "4-1", "4-2": "4-2"}


def drill(*sets: tuple[str, int, int, int]) -> list[Picture]:
    """Sets as (label, counts, where 4-1 and 4-2 stand: steps from the 50), far apart by set."""
    return [Picture(label, c, {"4-1": (x, 0), "4-2": (y, 9000)}) for label, c, x, y in sets]


OLD = drill(("14", 0, 0, 0), ("15", 8, 20_000, 20_000), ("16", 8, 40_000, 40_000))


def test_a_quarter_step_is_nobodys_news() -> None:
    new = drill(("14", 0, 180, 181), ("15", 8, 20_000, 20_000), ("16", 8, 40_000, 40_000))
    assert moved_spots(OLD, new, DOTS, DOTS) == [("4-2", "14", 181.0)]
    assert moved_spots(OLD, OLD, DOTS, DOTS) == []


def test_a_new_set_is_news_and_a_first_version_and_other_labels_are_not() -> None:
    new = drill(
        ("1", 0, 0, 0), ("2", 8, 10_000, 10_000), ("3", 8, 20_000, 20_000), ("4", 8, 40_000, 40_000)
    )
    found = moved_spots(OLD, new, DOTS, DOTS)
    assert found == [("4-1", "2", None), ("4-2", "2", None)]
    assert moved_spots([], new, DOTS, DOTS) == []
    assert moved_spots([Picture("14", 0, {})], new, DOTS, DOTS) == []


def test_a_set_after_a_cut_and_one_in_other_counts_are_reached_otherwise() -> None:
    cut = [OLD[0], replace(OLD[2], counts=16)]
    assert moved_spots(OLD, cut, DOTS, DOTS) == [
        ("4-1", "16", Jump("14", 16)),
        ("4-2", "16", Jump("14", 16)),
    ]
    slower = [OLD[0], replace(OLD[1], counts=12), OLD[2]]
    assert moved_spots(OLD, slower, {}, {"4-1": "4-1"})[:2] == [
        ("4-1", "14", None),
        ("4-1", "15", None),
    ], "a spot that had no dot before stands anew"
    assert [m for m in moved_spots(OLD, slower, DOTS, DOTS) if m[0] == "4-1"] == [
        ("4-1", "15", Jump("14", 12))
    ]


def test_a_set_reached_otherwise_is_news_to_a_spot_without_a_dot_too() -> None:
    cut = [OLD[0], replace(OLD[2], counts=16)]
    found = moved_spots(OLD, cut, {"1-1": "1-1"}, {"1-1": "1-1"})
    assert found == [("1-1", "16", Jump("14", 16))]


def test_a_spot_that_marches_another_dot_stands_elsewhere() -> None:
    apart = [Picture(p.label, p.counts, {"4-1": (0, 0), "X": (5000, 0)}) for p in OLD]
    found = moved_spots(apart, apart, {"4-1": "4-1"}, {"4-1": "X"})
    assert found == [("4-1", label, 5000.0) for label in ("14", "15", "16")]


def band(*away: str) -> LineupProblem:
    members = tuple(
        Member(key, (), away=frozenset({"half"} if key in away else ()))
        for key in ("ann", "bea", "cat", "dan", "eve")
    )
    return LineupProblem(
        members,
        (Spot("4-1", "4", "t"), Spot("5-1", "5", "t")),
        (Segment("half", ("4-1", "5-1")),),
        (),
        (Rank("4", ("ann", "bea")), Rank("5", ("dan",))),
    )


def told(
    away: tuple[str, ...] = (), first: bool = False, sets: tuple[SetMove, ...] = ()
) -> dict[str, bool]:
    changes = () if sets else (MemberChange("half", "cat", Change.STEPS_IN, None, "4-1"),)
    seats = {("half", "4-1"): "cat", ("half", "5-1"): "dan"}
    backups = [("4-1", "eve"), ("4-1", "cat")]
    found = who_is_told(band(*away), changes, sets, seats, backups, first=first)
    return {t.member: t.marches for t in found}


def test_a_new_member_in_a_spot_concerns_them_and_the_leader() -> None:
    assert told() == {"ann": False, "cat": True}
    assert told(away=("ann",)) == {"bea": False, "cat": True}
    assert told(first=True) == {"cat": True}


def test_a_moved_dot_concerns_marcher_backups_and_leader() -> None:
    moved = (SetMove("half", "4-1", "14", 720.0),)
    assert told(sets=moved) == {"ann": False, "cat": True, "eve": False}


@pytest.mark.parametrize(
    ("now", "until"),
    [
        ((5, 21, 59), None),
        ((5, 22, 0), (6, 7)),
        ((5, 23, 30), (6, 7)),
        ((6, 3, 0), (6, 7)),
        ((6, 7, 0), None),
        ((6, 22, 59), (7, 7)),
        ((6, 23, 0), None),  # twelve hours before the call
        ((7, 10, 0), None),
    ],
)
def test_quiet_hours_end_in_the_morning(
    now: tuple[int, int, int], until: tuple[int, int] | None
) -> None:
    day, hour, minute = now
    moment = datetime.datetime(2026, 11, day, hour, minute, tzinfo=ZONE)
    expected = until and datetime.datetime(2026, 11, *until, tzinfo=ZONE)
    assert wait_until(moment.astimezone(datetime.UTC), NIGHT, ZONE, FAR) == expected


def test_quiet_hours_end_by_the_clock_on_the_wall_when_clocks_change() -> None:
    """1 November 2026: clocks go back at 2:00 in the United States (IANA tz database)."""
    late = datetime.datetime(2026, 10, 31, 23, tzinfo=ZONE)
    ends = wait_until(late, NIGHT, ZONE, FAR)
    assert ends is not None and ends.astimezone(datetime.UTC).hour == 13


def test_without_quiet_hours_nothing_waits() -> None:
    moment = datetime.datetime(2026, 11, 5, 3, tzinfo=ZONE)
    assert wait_until(moment, None, ZONE, FAR) is None
    assert wait_until(moment, (datetime.time(9), datetime.time(9)), ZONE, FAR) is None
    noon = (datetime.time(1), datetime.time(5))
    assert wait_until(moment, noon, ZONE, FAR) == moment.replace(hour=5)


def test_what_waits_still_comes_in_time_for_an_early_call() -> None:
    evening = datetime.datetime(2026, 11, 5, 18, 30, tzinfo=ZONE)
    quiet = (datetime.time(18), datetime.time(8))

    def waits(hour: int) -> datetime.datetime | None:
        call = datetime.datetime(2026, 11, 6, hour, tzinfo=ZONE)
        return wait_until(evening, quiet, ZONE, call)

    assert waits(10) == datetime.datetime(2026, 11, 6, 8, tzinfo=ZONE)
    assert waits(9) is None and waits(7) is None


def test_how_far_a_dot_moves_counts_both_ways() -> None:
    new = [Picture(p.label, p.counts, {"4-1": (p.at["4-1"][0] + 300, 400)}) for p in OLD[:1]]
    assert moved_spots(OLD[:1], new, DOTS, {"4-1": "4-1"}) == [("4-1", "14", 500.0)]
