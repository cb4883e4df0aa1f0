"""The evaluator plan: nobody in two places, loads level, panels linked, and what is wrong told."""

from __future__ import annotations

from collections import Counter, defaultdict

import pytest
from hypothesis import given
from hypothesis import strategies as st

from roster.tryouts.core.linking import Link
from roster.tryouts.core.plan import Evaluator, Group, check, planned_looks, propose
from tests.examples import examples


def day(
    sessions: int, slots: int, together: int, size: int = 5, *, again: bool = False
) -> list[Group]:
    """Groups of new candidates throughout, or the same in every session."""
    found: list[Group] = []
    for session in range(sessions):
        for slot in range(slots):
            for _ in range(together):
                place = len(found) % (slots * together) if again else len(found)
                who = tuple(range(place * size, (place + 1) * size))
                found.append(Group(len(found), session, slot, who))
    return found


def panel(number: int, sessions: int = 1) -> list[Evaluator]:
    return [Evaluator(key, frozenset(range(sessions))) for key in range(number)]


def twice_booked(groups: list[Group], panels: dict[int, tuple[int, ...]]) -> bool:
    at: Counter[tuple[int, int, int]] = Counter()
    for group in groups:
        at.update((group.session, group.slot, by) for by in panels[group.key])
    return max(at.values(), default=0) > 1


@st.composite
def set_ups(draw: st.DrawFn) -> tuple[list[Group], list[Evaluator], int, set[tuple[int, int]]]:
    sessions = draw(st.integers(1, 3))
    groups = day(
        sessions,
        draw(st.integers(1, 4)),
        draw(st.integers(1, 3)),
        draw(st.integers(1, 4)),
        again=draw(st.booleans()),
    )
    there = st.frozensets(st.integers(0, sessions - 1))
    most = st.none() | st.integers(0, 30)
    evaluators = [Evaluator(key, draw(there), draw(most)) for key in range(draw(st.integers(0, 7)))]
    pairs = st.tuples(st.integers(0, 20), st.integers(0, 6))
    return groups, evaluators, draw(st.integers(1, 3)), draw(st.sets(pairs, max_size=6))


@examples(150, 1500)
@given(set_ups())
def test_nobody_is_in_two_places_or_away_or_over_their_most(
    made: tuple[list[Group], list[Evaluator], int, set[tuple[int, int]]],
) -> None:
    groups, evaluators, looks, recused = made
    panels = propose(groups, evaluators, looks, recused)
    assert set(panels) == {group.key for group in groups} and not twice_booked(groups, panels)
    found = check(groups, evaluators, panels, looks, recused, sessions_differ=False)
    assert found.twice == () and found.away == ()
    given_looks: Counter[int] = Counter()
    for group in groups:
        assert len(set(panels[group.key])) == len(panels[group.key]) <= looks
        given_looks.update(dict.fromkeys(panels[group.key], len(group.candidates)))
    for each in evaluators:
        assert each.most is None or given_looks[each.key] <= each.most


@examples(150, 1500)
@given(set_ups())
def test_a_panel_is_short_only_where_nobody_else_is_free(
    made: tuple[list[Group], list[Evaluator], int, set[tuple[int, int]]],
) -> None:
    groups, evaluators, looks, recused = made
    panels = propose(groups, evaluators, looks, recused)
    load: Counter[int] = Counter()
    for group in groups:
        load.update(dict.fromkeys(panels[group.key], len(group.candidates)))
    at_once: dict[tuple[int, int], set[int]] = defaultdict(set)
    for group in groups:
        at_once[group.session, group.slot] |= set(panels[group.key])
    for group in groups:
        if len(panels[group.key]) < looks:
            for each in set(evaluators):
                idle = each.key not in at_once[group.session, group.slot]
                room = each.most is None or load[each.key] + len(group.candidates) <= each.most
                assert not (idle and room and group.session in each.sessions)


@examples(80, 800)
@given(st.integers(1, 3), st.integers(1, 4), st.integers(0, 40), st.integers(1, 3))
def test_the_recused_are_passed_over_while_others_are_free(
    sessions: int, slots: int, who: int, looks: int
) -> None:
    groups = day(sessions, slots, 1)
    recused = {(who % (5 * len(groups)), 0)}
    panels = propose(groups, panel(looks + 1, sessions), looks, recused)
    (own,) = (group for group in groups if next(iter(recused))[0] in group.candidates)
    assert 0 not in panels[own.key] and len(panels[own.key]) == looks


def test_a_recused_evaluator_sees_the_others_of_a_group_where_nobody_else_is_left() -> None:
    groups = day(1, 1, 1)
    panels = propose(groups, panel(2), 2, {(3, 1)})
    assert panels == {0: (0, 1)}
    looks = planned_looks(groups, panels, {(3, 1)})
    assert len(looks) == 9 and (3, 1, 0) not in looks
    found = check(groups, panel(2), panels, 2, {(3, 1)}, sessions_differ=False)
    assert found.short == {3: 1} and found.loads == {0: 5, 1: 4}


ORDINARY = [
    (evaluators, slots, together, looks, again)
    for evaluators in range(4, 15)
    for slots, together in ((2, 1), (5, 1), (3, 2), (8, 2), (5, 3), (12, 3))
    for looks in (2, 3, 4)
    for again in (False, True)
    if together * looks <= evaluators
]


@pytest.mark.parametrize(("evaluators", "slots", "together", "looks", "again"), ORDINARY)
def test_ordinary_plans_are_linked_and_level(
    evaluators: int, slots: int, together: int, looks: int, again: bool
) -> None:
    """Two sessions. Everybody gets their looks and all compare, which goes before level loads:
    these are one group apart where evaluators have more than two on average, two otherwise."""
    groups, people = day(2, slots, together, again=again), panel(evaluators, 2)
    panels = propose(groups, people, looks, set())
    found = check(groups, people, panels, looks, set(), sessions_differ=False)
    assert found.short == {} and found.twice == () and found.linking.is_whole
    apart = max(found.loads.values()) - min(found.loads.values())
    assert apart <= (5 if len(groups) * looks > 2 * evaluators else 10)


@pytest.mark.parametrize("evaluators", [4, 6, 7, 9])
def test_loads_of_a_long_plan_are_one_group_apart_at_most(evaluators: int) -> None:
    groups, people = day(3, 10, 2), panel(evaluators, 3)
    found = check(
        groups, people, propose(groups, people, 2, set()), 2, set(), sessions_differ=False
    )
    assert max(found.loads.values()) - min(found.loads.values()) <= 5


def test_candidates_who_come_in_both_sessions_compare_across_them() -> None:
    groups, people = day(2, 4, 2, again=True), panel(8, 2)
    panels = propose(groups, people, 2, set())
    assert check(groups, people, panels, 2, set(), sessions_differ=True).linking.is_whole
    new_ones = day(2, 4, 2)
    found = check(
        new_ones, people, propose(new_ones, people, 2, set()), 2, set(), sessions_differ=True
    )
    assert len(found.linking.parts) == 2, "no candidate in both: an easy day or good candidates"
    (link,) = found.linking.links
    assert (link.candidate < 40) == (link.session == 1)


def test_two_rooms_cannot_be_linked_and_the_missing_look_is_named_by_its_keys() -> None:
    groups = [Group(70, 9, 1, (101, 102)), Group(71, 9, 1, (201, 202))]
    people = [Evaluator(key, frozenset({9})) for key in (31, 32, 41, 42)]
    panels = propose(groups, people, 2, set())
    assert panels == {70: (31, 32), 71: (41, 42)}
    found = check(groups, people, panels, 2, set(), sessions_differ=False)
    assert found.linking.parts == ((101, 102), (201, 202))
    assert found.linking.links == (Link(101, 41, 9),)
    barred = {(c, e) for c in (101, 102) for e in (41, 42)}
    found = check(groups, people, panels, 2, barred, sessions_differ=False)
    assert found.linking.links == (Link(201, 31, 9),)


def test_what_is_wrong_with_a_plan_is_named() -> None:
    groups = [Group(1, 0, 0, (11, 12)), Group(2, 0, 0, (13,)), Group(3, 1, 0, (14,))]
    people = [Evaluator(21, frozenset({0})), Evaluator(22, frozenset({0, 1}))]
    panels = {1: (21, 22), 2: (22,), 3: (21, 99)}
    found = check(groups, people, panels, 2, {(12, 21)}, sessions_differ=False)
    assert found.twice == ((0, 0, 22),)
    assert found.away == ((3, 21), (3, 99))
    assert found.short == {12: 1, 13: 1}
    assert found.loads == {21: 2, 22: 3}


def test_a_plan_without_a_look_has_no_parts() -> None:
    found = check(day(1, 1, 1, 2), panel(2), {}, 2, set(), sessions_differ=True)
    assert found.linking.parts == () and found.short == {0: 0, 1: 0} and found.loads == {0: 0, 1: 0}
