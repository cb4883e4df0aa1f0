"""What the benchmark's lines say, without timing anything."""

from __future__ import annotations

import json

import pytest

from tests.bench.ratios import Ratio, middle, timed

FASTER = Ratio("work", "peer", [290.0, 300.0, 320.0], 250.0, True, 0.01, 3.0)
CHEAPER = Ratio("check", "solve", [0.29, 0.3, 0.32], 0.1, False, 0.03, 0.1)
CAPPED = Ratio("work", "peer", [100.0], 250.0, True, 0.6, 60.0, capped=True)


@pytest.mark.parametrize(
    ("ratio", "words"),
    [(FASTER, " met"), (CHEAPER, "NOT MET"), (CAPPED, ">= 100"), (CAPPED, "peer capped")],
)
def test_a_line_says_whether_the_goal_is_met(ratio: Ratio, words: str) -> None:
    assert words in ratio.line()


def test_a_capped_peer_never_counts_as_a_goal_missed_or_met() -> None:
    assert "NOT MET" not in CAPPED.line()
    assert not CAPPED.met


def test_a_seed_that_we_do_not_prove_is_named() -> None:
    failed = Ratio("work", "peer", [0.0, 0.0, 300.0], 250.0, True, 0.0, 3.0, failed=2)
    assert "2 not proven by ours" in failed.line()


def test_json_carries_the_verdict() -> None:
    assert json.loads(json.dumps(FASTER.as_json()))["met"] is True


def test_the_median_of_nothing_is_zero() -> None:
    assert middle([]) == 0.0


def test_a_line_may_count_something_else_than_seconds() -> None:
    holes = Ratio("plan", "plain", [0.5], 0.5, False, 5.0, 10.0, unit="holes", note="+- 0.01")
    assert "(5 holes against 10 holes; 1 seeds 0.5 to 0.5, +- 0.01)" in holes.line()


def test_a_goal_is_missed_only_by_more_than_the_noise() -> None:
    near = Ratio("work", "peer", [90.0, 98.0, 110.0], 100.0, True, 0.01, 1.0)
    assert not near.met and not near.missed and "but for the noise" in near.line()
    far = Ratio("work", "peer", [80.0, 81.0, 83.0], 100.0, True, 0.01, 1.0)
    assert far.missed and "NOT MET" in far.line() and "80 to 83" in far.line()
    assert CHEAPER.missed and not FASTER.missed and not CAPPED.missed


def test_what_is_timed_gets_what_is_made_for_it() -> None:
    made = iter(range(5))
    seconds, last = timed(lambda n: n, 5, lambda: next(made))
    assert last == 4 and seconds >= 0
