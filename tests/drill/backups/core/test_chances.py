"""Chances of being out: shrunk to the band as published examples are, and between the bounds."""

from __future__ import annotations

import math
import random
from statistics import mean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from drill.backups.core.chances import LARGEST, History, band_prior, chances

# Hits of 18 players in their first 45 at bats of 1970, and their averages over the rest of it.
HITS = (18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7)
REST = (
    *(0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269),
    *(0.230, 0.264, 0.256, 0.303, 0.264, 0.226, 0.285, 0.316, 0.200),
)
AT_BATS = 45
HISTORIES = st.dictionaries(
    st.text("abcdefgh", min_size=1, max_size=2),
    st.integers(0, 30).flatmap(lambda n: st.builds(History, st.just(n), st.integers(0, n))),
    max_size=30,
)
USUAL = 0.05


def _squares(estimates: list[float]) -> float:
    return sum((a - b) ** 2 for a, b in zip(estimates, REST, strict=True))


@pytest.mark.source(
    "Efron & Morris 1975, JASA 70:311-319, batting averages (values from memory): "
    "grand mean .265, James-Stein factor .212, squared errors .077 against .022"
)
def test_batting_averages_are_foretold_three_times_as_well_as_by_themselves() -> None:
    own = [hits / AT_BATS for hits in HITS]
    average = mean(own)
    spread = sum((x - average) ** 2 for x in own)
    factor = 1 - (len(own) - 3) * average * (1 - average) / AT_BATS / spread
    assert (round(average, 3), round(factor, 3)) == (0.265, 0.212), "the values are remembered well"
    assert _squares(own) == pytest.approx(0.077, abs=0.002)

    histories = {f"{n:02d}": History(AT_BATS, hits) for n, hits in enumerate(HITS)}
    found = chances(histories, average)
    shrunk = [found[name] for name in sorted(found)]
    assert _squares(shrunk) < _squares(own) / 3
    # One degree of freedom for the mean instead of three: closer to the mean than James-Stein.
    assert 0 < AT_BATS / (AT_BATS + band_prior(histories, average).strength) < factor


@pytest.mark.source("Casella 1985, The American Statistician 39:83-87; the prior by moments")
def test_the_strength_that_made_the_absences_is_found_again() -> None:
    rng = random.Random(5)
    rows = {}
    for n in range(6000):
        own = rng.betavariate(0.5, 9.5)
        occasions = rng.choice((6, 12, 20))
        missed = sum(rng.random() < own for _ in range(occasions))
        rows[str(n)] = History(occasions, missed)
    prior = band_prior(rows, USUAL)
    assert prior.average == pytest.approx(0.05, abs=0.005)
    assert prior.strength == pytest.approx(10, rel=0.2)


@given(HISTORIES)
def test_everybody_lies_between_their_own_share_and_the_band(rows: dict[str, History]) -> None:
    prior = band_prior(rows, USUAL)
    for name, chance in chances(rows, USUAL).items():
        own = rows[name].missed / rows[name].occasions if rows[name].occasions else prior.average
        low, high = sorted((min(own, LARGEST), min(prior.average, LARGEST)))
        assert low - 1e-12 <= chance <= high + 1e-12
        assert chance <= LARGEST


@given(HISTORIES)
def test_the_order_of_the_rows_does_not_matter(rows: dict[str, History]) -> None:
    turned = dict(reversed(rows.items()))
    assert chances(rows, USUAL) == chances(turned, USUAL)


@given(HISTORIES, st.integers(1, 20))
def test_who_missed_more_of_as_many_is_no_less_likely_out(
    rows: dict[str, History], occasions: int
) -> None:
    rows |= {"few": History(occasions, 0), "many": History(occasions, occasions)}
    found = chances(rows, USUAL)
    assert found["few"] <= found["many"] + 1e-12


def test_before_the_season_everybody_has_the_usual_chance() -> None:
    rows = {"a": History(), "b": History()}
    assert chances(rows, USUAL) == {"a": USUAL, "b": USUAL}
    assert chances({}, USUAL) == {}


def test_members_who_differ_no_more_than_chance_get_one_chance() -> None:
    rows = {str(n): History(10, 1) for n in range(20)}
    assert math.isinf(band_prior(rows, USUAL).strength)
    assert set(chances(rows, USUAL).values()) == {(20 + 20 * USUAL) / (200 + 20)}
