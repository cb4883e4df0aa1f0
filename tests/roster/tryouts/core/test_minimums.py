"""Selection with minimums: what it gives up, in which order, and that it says so."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import assume, given

from roster.tryouts.core.minimums import select_with_minimums
from roster.tryouts.core.selection import Applicant, Quota, Tie, Trade, select
from tests.examples import examples
from tests.roster.tryouts.core.test_selection import (
    Places,
    all_results,
    applicant,
    fields,
    quota,
    wish_of,
)

Field = tuple[list[Applicant], list[Quota]]


def lacks(places: Places, quotas: Sequence[Quota]) -> int:
    filled = list(places.values())
    return sum(max(0, q.least - filled.count(q.part)) for q in quotas)


@examples(250, 2500)
@given(fields(most=5, least=2))
def test_no_result_lacks_less(field: Field) -> None:
    people, quotas = field
    made = select_with_minimums(people, quotas)
    rooms = {q.part: q.room for q in quotas}
    best = min(lacks(places, quotas) for places in all_results(people, rooms))
    assert lacks(dict(made.places), quotas) == best


@examples(250, 2500)
@given(fields(most=6, least=2))
def test_the_order_of_the_file_decides_nothing_where_no_tie_is_told(field: Field) -> None:
    people, quotas = field
    made = select_with_minimums(people, quotas)
    assume(not made.ties)
    assert select_with_minimums(people[::-1], quotas).places == made.places


@examples(200, 2000)
@given(fields(most=6, least=2))
def test_nobody_loses_a_wish_but_for_a_part_that_lacked(field: Field) -> None:
    people, quotas = field
    plain, made = select(people, quotas), select_with_minimums(people, quotas)
    worse = [
        a
        for a in people
        if a.key in plain.places and wish_of(a, dict(made.places)) > wish_of(a, dict(plain.places))
    ]
    assert bool(worse) == bool(made.trades)


def test_the_lowest_of_those_who_can_be_moved_is_moved() -> None:
    """Two doublers for parts 1 and 2, of which one has to take the second."""
    people = [applicant(1, 90, 1, 2), applicant(2, 80, 1, 2), applicant(3, 95, 3, 4)]
    people += [applicant(4, 60, 3)]
    quotas = [quota(part, 1, least=1) for part in (1, 2, 3, 4)]
    for order in (people, people[::-1]):
        made = select_with_minimums(order, quotas)
        assert made.places == {1: 1, 2: 2, 3: 4, 4: 3} and not made.ties


def test_equals_of_whom_one_has_to_be_moved_are_a_tie() -> None:
    people = [applicant(1, 90, 1, 2), applicant(2, 90, 1, 2)]
    made = select_with_minimums(people, [quota(1, 2), quota(2, 1, least=1)])
    assert made.ties == (Tie(2, (1,), (2,), alternates=False),)


@examples(200, 2000)
@given(fields(most=6, least=2))
def test_a_part_never_lacks_more_than_without_trades(field: Field) -> None:
    people, quotas = field
    plain, made = select(people, quotas), select_with_minimums(people, quotas)
    short = made.short or {}
    assert sum(short.values()) == lacks(dict(made.places), quotas)
    assert sum(short.values()) <= sum((plain.short or {}).values())
    if not plain.short:
        assert made == plain


@examples(200, 2000)
@given(fields(most=6, least=2, alternates=1))
def test_trades_tell_everybody_who_was_moved_and_nobody_else(field: Field) -> None:
    people, quotas = field
    plain, made = select(people, quotas), select_with_minimums(people, quotas)
    moved = dict(plain.places)
    for trade in made.trades:
        assert moved.pop(trade.key, None) == trade.of != trade.to
        if trade.to is not None:
            moved[trade.key] = trade.to
    assert moved == made.places
    standing_by = {key for keys in made.alternates.values() for key in keys}
    assert not standing_by & set(made.places)


@examples(200, 2000)
@given(fields(most=6, least=2))
def test_places_and_ties_are_those_of_the_result_with_its_trades(field: Field) -> None:
    people, quotas = field
    made = select_with_minimums(people, quotas)
    for key, part in made.places.items():
        assert (key, part) in made.places_of
    for tie in made.ties:
        assert all(made.places.get(key) == tie.part for key in tie.inside)
        assert all(made.places.get(key) != tie.part for key in tie.outside)


def test_a_doubler_is_moved_so_that_a_part_can_march() -> None:
    people = [applicant(1, 90, 1, 2), applicant(2, 80, 1)]
    made = select_with_minimums(people, [quota(1, 1), quota(2, 1, least=1)])
    assert made.places == {1: 2, 2: 1} and made.short == {}
    assert made.trades == (Trade(1, of=1, to=2), Trade(2, of=None, to=1))


@pytest.mark.parametrize("order", [(1, 2, 3), (1, 3, 2), (3, 2, 1)])
def test_equals_who_would_follow_a_moved_doubler_are_a_tie(order: tuple[int, ...]) -> None:
    people = {1: applicant(1, 90, 1, 2), 2: applicant(2, 80, 1), 3: applicant(3, 80, 1)}
    quotas = [quota(1, 1), quota(2, 1, least=1)]
    assert not select([people[key] for key in order], quotas).ties
    made = select_with_minimums([people[key] for key in order], quotas)
    (inside,) = (key for key, part in made.places.items() if part == 1)
    assert made.ties == (Tie(1, (inside,), (5 - inside,), alternates=False),)
    assert made.places_of[2, 1] == made.places_of[3, 1]


def test_nobody_is_moved_to_a_part_they_did_not_ask_for() -> None:
    people = [applicant(1, 90, 1), applicant(2, 80, 1)]
    made = select_with_minimums(people, [quota(1, 2), quota(2, 2, least=2)])
    assert made.places == {1: 1, 2: 1} and made.short == {2: 2} and not made.trades


def test_a_minimum_above_the_target_is_filled() -> None:
    people = [applicant(key, 90 - key, 1) for key in range(3)]
    made = select_with_minimums(people, [Quota(1, 3, 2, 3, 0)])
    assert made.places == {0: 1, 1: 1, 2: 1} and not made.trades


def test_no_more_are_moved_than_the_minimum_needs() -> None:
    """Part 2 lacks one of its minimum: one of part 1 goes there, and the best of those outside
    takes their spot."""
    people = [applicant(key, 1000.0 - key, 1, 2) for key in range(200)]
    people += [applicant(key, 1000.0 - key, 1) for key in range(200, 300)]
    made = select_with_minimums(people, [quota(1, 150), quota(2, 60, least=51)])
    assert made.trades == (Trade(149, 1, 2), Trade(200, None, 1)) and not made.short
