"""Selection: no place lost by a better mark, the candidates' best stable result, and ties told."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import permutations, product
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roster.tryouts.core.selection import Applicant, Quota, Selection, Tie, admitted, select
from tests.examples import examples

GALE_SHAPLEY = "Gale & Shapley 1962, American Mathematical Monthly 69:9-15"
Places = dict[int, int]
Outcome = tuple[frozenset[tuple[int, int]], frozenset[tuple[int, int]]]
"""(candidate, part) of spots and of alternates"""


def applicant(key: int, figure: float, *wishes: int) -> Applicant:
    return Applicant(key, wishes, (figure,))


def quota(part: int, target: int, least: int = 0, alternates: int = 0) -> Quota:
    return Quota(part, least, target, target, alternates)


def all_results(applicants: Sequence[Applicant], spots: dict[int, int]) -> Iterator[Places]:
    """Every way to give candidates one of their wishes or nothing, within the spots."""
    for choice in product(*[(None, *a.wishes) for a in applicants]):
        if all(choice.count(part) <= room for part, room in spots.items()):
            yield {a.key: p for a, p in zip(applicants, choice, strict=True) if p is not None}


def wish_of(a: Applicant, places: Places) -> int:
    """How far down their own list a result gives them a part; the end where it gives none."""
    return a.wishes.index(places[a.key]) if a.key in places else len(a.wishes)


def blocking(
    applicants: Sequence[Applicant], spots: dict[int, int], places: Places
) -> set[tuple[int, int]]:
    """(candidate, part) who would rather have each other than what they have."""
    found = set()
    for a in applicants:
        for part in a.wishes[: wish_of(a, places)]:
            inside = [b.rounded for b in applicants if places.get(b.key) == part]
            room = spots.get(part, 0)
            if len(inside) < room or (room and min(inside) < a.rounded):
                found.add((a.key, part))
    return found


@st.composite
def fields(
    draw: st.DrawFn, *, most: int = 5, figures: int = 3, alternates: int = 0, least: int = 0
) -> tuple[list[Applicant], list[Quota]]:
    """A few candidates with few different figures, and parts with few spots."""
    parts = draw(st.integers(1, 3))
    number = draw(st.integers(1, most))
    wishes = st.lists(st.integers(0, parts - 1), max_size=parts, unique=True)
    people = [
        Applicant(key, tuple(draw(wishes)), (float(draw(st.integers(0, figures))),))
        for key in range(number)
    ]
    quotas = []
    for part in range(parts):
        target = draw(st.integers(0, 2))
        quotas.append(
            Quota(
                part,
                draw(st.integers(0, least)),
                target,
                target + 1,
                draw(st.integers(0, alternates)),
            )
        )
    return people, quotas


@pytest.mark.source(GALE_SHAPLEY + ", Theorem 1: there is always a stable result")
@examples(200, 2000)
@given(fields(most=7))
def test_nobody_and_no_part_would_rather_have_each_other(
    field: tuple[list[Applicant], list[Quota]],
) -> None:
    people, quotas = field
    spots = {q.part: q.target for q in quotas}
    places = dict(select(people, quotas).places)
    assert places in all_results(people, spots)
    assert not blocking(people, spots, places)


@pytest.mark.source(GALE_SHAPLEY + ", Theorem 2: every candidate is at least as well off")
@examples(150, 1500)
@given(fields(most=4, figures=2))
def test_no_stable_result_is_better_for_anybody(
    field: tuple[list[Applicant], list[Quota]],
) -> None:
    people, quotas = field
    # Who comes first is above an equal, as in the file: the only place where that is looked at.
    strict = [replace(a, standing=(*a.standing, -float(i))) for i, a in enumerate(people)]
    spots = {q.part: q.target for q in quotas}
    places = admitted(strict, spots)
    assert places == admitted(people, spots)
    stable = [it for it in all_results(strict, spots) if not blocking(strict, spots, it)]
    assert places in stable
    for other in stable:
        assert all(wish_of(a, places) <= wish_of(a, other) for a in strict)


@examples(200, 2000)
@given(fields(most=6), st.integers(0, 5), st.integers(1, 3))
def test_a_better_mark_never_loses_its_owner_anything(
    field: tuple[list[Applicant], list[Quota]], who: int, more: int
) -> None:
    people, quotas = field
    index = who % len(people)
    mine = people[index]
    raised = [*people]
    raised[index] = replace(mine, standing=(mine.standing[0] + more / 2,))
    before, after = (dict(select(it, quotas).places) for it in (people, raised))
    assert wish_of(mine, after) <= wish_of(mine, before)


@examples(100, 1000)
@given(fields(most=5, alternates=1), st.randoms(use_true_random=False))
def test_the_order_of_the_file_changes_nothing_where_no_tie_is_told(
    field: tuple[list[Applicant], list[Quota]], rng: Random
) -> None:
    people, quotas = field
    told = select(people, quotas)
    shuffled = [*people]
    rng.shuffle(shuffled)
    if not told.ties:
        assert select(shuffled, quotas) == told
    assert select(people, quotas[::-1]).places == told.places


def results_by_order(people: Sequence[Applicant], quotas: Sequence[Quota]) -> set[Outcome]:
    """Who has which part, and who stands by for which, for every order of the file."""
    found: set[Outcome] = set()
    for order in permutations(people):
        made = select(order, quotas)
        standby = frozenset((k, part) for part, keys in made.alternates.items() for k in keys)
        found.add((frozenset(made.places.items()), standby))
    return found


@examples(250, 2500)
@given(fields(most=5, figures=2, alternates=1))
def test_ties_are_told_exactly_where_the_order_of_the_file_would_decide(
    field: tuple[list[Applicant], list[Quota]],
) -> None:
    people, quotas = field
    assert bool(select(people, quotas).ties) == (len(results_by_order(people, quotas)) > 1)


@examples(100, 1000)
@given(fields(most=5, figures=2))
def test_a_tie_names_equals_inside_and_outside(
    field: tuple[list[Applicant], list[Quota]],
) -> None:
    people, quotas = field
    told = select(people, quotas)
    standing = {a.key: a.rounded for a in people}
    for tie in told.ties:
        assert len({standing[key] for key in (*tie.inside, *tie.outside)}) == 1
        assert tie.inside and all(told.places[key] == tie.part for key in tie.inside)
        assert tie.outside and all(told.places.get(key) != tie.part for key in tie.outside)


def line() -> list[Applicant]:
    """Sixth and seventh both 84.25 for six places."""
    figures = [91.0, 90.5, 89.0, 88.0, 86.0, 84.25, 84.25, 80.0]
    return [applicant(501 + i, it, 1) for i, it in enumerate(figures)]


def test_a_tie_at_the_line_is_told_and_never_settled_by_number() -> None:
    told = select(line(), [quota(1, 6)])
    assert told.ties == (Tie(1, (506,), (507,), alternates=False),)
    turned = select(line()[::-1], [quota(1, 6)])
    assert turned.ties == (Tie(1, (507,), (506,), alternates=False),)
    assert told.places_of[506, 1] == told.places_of[507, 1] == 6


def test_the_published_order_of_ties_settles_the_line() -> None:
    people = [replace(a, standing=(*a.standing, 1.0 if a.key == 507 else 0.0)) for a in line()]
    for order in (people, people[::-1]):
        told = select(order, [quota(1, 6)])
        assert not told.ties and 507 in told.places and 506 not in told.places


def test_a_difference_of_a_rounding_is_a_tie() -> None:
    people = [applicant(1, 0.1 + 0.2, 1), applicant(2, 0.3, 1)]
    assert select(people, [quota(1, 1)]).ties
    assert not select([applicant(1, 0.30001, 1), applicant(2, 0.3, 1)], [quota(1, 1)]).ties


def test_equals_who_have_what_they_want_are_no_tie() -> None:
    people = [applicant(1, 80, 1), applicant(2, 80, 2), applicant(3, 80, 1)]
    assert not select(people, [quota(1, 2), quota(2, 1)]).ties


def test_a_doubler_refused_by_a_part_is_offered_the_next_and_told_the_place() -> None:
    people = [applicant(1, 90, 1), applicant(2, 85, 1, 2), applicant(3, 80, 2), applicant(4, 70, 2)]
    told = select(people, [quota(1, 1), quota(2, 2)])
    assert told.places == {1: 1, 2: 2, 3: 2}
    assert told.places_of[2, 1] == 2 and told.places_of[2, 2] == 1
    assert told.places_of[4, 2] == 3 and (1, 2) not in told.places_of


def test_alternates_are_those_left_by_standing_and_a_tie_among_them_is_told() -> None:
    people = [applicant(i, f, 1) for i, f in ((1, 90), (2, 70), (3, 80), (4, 70), (5, 60))]
    told = select(people, [quota(1, 1, alternates=2)])
    assert told.alternates == {1: (3, 2)}
    assert told.ties == (Tie(1, (2,), (4,), alternates=True),)


def test_what_a_part_lacks_to_its_minimum_is_told() -> None:
    told = select([applicant(1, 90, 1)], [quota(1, 3, least=2), quota(2, 1, least=1)])
    assert told.short == {1: 1, 2: 1}
    assert select([], [quota(1, 1, least=1)]) == Selection({}, {1: ()}, {}, (), (), {1: 1})


def test_a_part_that_nobody_fills_takes_nobody() -> None:
    told = select([applicant(1, 90, 7, 1)], [quota(1, 1), quota(2, 0)])
    assert told.places == {1: 1}, "part 7 is not on this year's list"
