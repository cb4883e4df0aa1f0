"""Linking: what can be compared, by rank, and the fewest looks that would join the parts."""

from __future__ import annotations

from itertools import combinations, product

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from roster.tryouts.core.linking import Link, linking
from roster.tryouts.core.looks import Looks
from tests.examples import examples
from tests.roster.tryouts.core.building import design, expected_of, looks_of

CONNECTED = "Weeks & Williams 1964, Technometrics 6:319, connectedness; from memory"
Row = tuple[int, int, int, float]


def parts_by_rank(looks: Looks) -> set[frozenset[int]]:
    """Candidates belong together where their difference adds nothing to the rows of the design."""
    x = design(looks)
    rank = np.linalg.matrix_rank(x)
    seen = sorted(set(looks.candidate.tolist()))
    parts: list[list[int]] = []
    for candidate in seen:
        for part in parts:
            apart = np.zeros(x.shape[1])
            apart[candidate], apart[part[0]] = 1, -1
            if np.linalg.matrix_rank(np.vstack([x, apart])) == rank:
                part.append(candidate)
                break
        else:
            parts.append([candidate])
    return {frozenset(part) for part in parts}


def with_links(looks: Looks, links: tuple[Link, ...]) -> Looks:
    old = zip(
        looks.candidate.tolist(), looks.evaluator.tolist(), looks.session.tolist(), strict=True
    )
    rows = [(*row, 0.0) for row in old]
    rows += [(link.candidate, link.evaluator, link.session, 0.0) for link in links]
    return looks_of(
        rows,
        candidates=looks.candidates,
        evaluators=looks.evaluators,
        sessions=looks.sessions,
    )


def fewest_links(looks: Looks, forbidden: set[tuple[int, int]], most: int) -> int | None:
    """By trying every set of further looks in sessions that took place."""
    pairs = product(sorted(set(looks.candidate.tolist())), range(looks.evaluators))
    open_pairs = [pair for pair in pairs if pair not in forbidden]
    could = [Link(c, e, s) for c, e in open_pairs for s in sorted(set(looks.session.tolist()))]
    for number in range(most + 1):
        for links in combinations(could, number):
            if len(parts_by_rank(with_links(looks, links))) == 1:
                return number
    return None


def small_designs(sessions: int) -> st.SearchStrategy[Looks]:
    row = st.tuples(st.integers(0, 3), st.integers(0, 2), st.integers(0, sessions - 1))
    return st.lists(row, min_size=2, max_size=7, unique=True).map(
        lambda rows: looks_of(
            [(*row, 0.0) for row in rows], candidates=4, evaluators=3, sessions=sessions
        )
    )


@pytest.mark.source(CONNECTED)
def test_a_connected_design_is_whole() -> None:
    rows = expected_of("severity_exact_and_connectedness.json")["connected"]
    found = linking(
        looks_of([(c, e, 0, float(y)) for c, e, y in rows["ratings_candidate_judge_score"]])
    )
    assert found.is_whole and found.parts == ((0, 1, 2, 3),) and found.links == ()


@pytest.mark.source(CONNECTED)
def test_two_rooms_fall_apart_and_one_look_would_link_them() -> None:
    pairs = expected_of("severity_exact_and_connectedness.json")["disconnected"]["pairs"]
    looks = looks_of([(c, e, 0, 0.0) for c, e in pairs])
    found = linking(looks)
    assert found.parts == ((0, 1), (2, 3)) and not found.is_whole
    assert found.links == (Link(0, 2, 0),), "all have two looks: the first, with the other room"
    assert linking(with_links(looks, found.links)).is_whole


@pytest.mark.source("Sick 2013, Shiken 17(1):27-32: three rooms are three disjoint subsets")
def test_three_rooms_need_two_looks() -> None:
    rows = [(c, 2 * (c // 2) + e, 0, 0.0) for c in range(6) for e in range(2)]
    found = linking(looks_of(rows))
    assert found.parts == ((0, 1), (2, 3), (4, 5)) and len(found.links) == 2
    assert linking(with_links(looks_of(rows), found.links)).is_whole


def test_with_sessions_a_connected_graph_is_not_enough() -> None:
    """Each evaluator's offset can be taken for their session's: all are joined by shared
    evaluators, and yet only those of one session compare."""
    rows: list[Row] = [(0, 0, 0, 0.0), (1, 0, 0, 0.0), (2, 1, 1, 0.0), (3, 1, 1, 0.0)]
    rows += [(0, 1, 0, 0.0), (2, 0, 1, 0.0)]
    assert linking(looks_of([(c, e, 0, y) for c, e, _, y in rows])).is_whole
    found = linking(looks_of(rows))
    assert set(found.parts) == {(0, 1), (2, 3)}
    assert len(found.links) == 1 and linking(with_links(looks_of(rows), found.links)).is_whole
    crossing = found.links[0]
    assert (crossing.candidate < 2) == (crossing.session == 1), "somebody seen in both sessions"


def test_who_must_not_meet_is_not_proposed() -> None:
    rows: list[Row] = [(0, 0, 0, 0.0), (1, 0, 0, 0.0), (2, 1, 0, 0.0), (3, 1, 0, 0.0)]
    kept_apart = {(0, 1), (1, 1), (2, 0)}
    assert linking(looks_of(rows), kept_apart).links == (Link(3, 0, 0),)
    assert linking(looks_of(rows), kept_apart | {(3, 0)}).links == ()


def test_a_candidate_without_a_look_is_in_no_part() -> None:
    found = linking(looks_of([(0, 0, 0, 1.0), (2, 0, 0, 2.0)], candidates=4, evaluators=3))
    assert found.is_whole and found.parts == ((0, 2),)


@pytest.mark.parametrize("sessions", [1, 2, 3])
@examples(80, 600)
@given(data=st.data())
def test_parts_are_those_whose_differences_can_be_estimated(
    sessions: int, data: st.DataObject
) -> None:
    looks = data.draw(small_designs(sessions))
    assert {frozenset(part) for part in linking(looks).parts} == parts_by_rank(looks)


@pytest.mark.parametrize("sessions", [1, 2, 3])
@examples(40, 300)
@given(data=st.data())
def test_no_smaller_set_of_looks_would_link(sessions: int, data: st.DataObject) -> None:
    looks = data.draw(small_designs(sessions))
    found = linking(looks)
    assert len(parts_by_rank(with_links(looks, found.links))) == 1
    assert fewest_links(looks, set(), len(found.links)) == len(found.links)


@examples(30, 300)
@given(small_designs(1), st.sets(st.tuples(st.integers(0, 3), st.integers(0, 2)), max_size=4))
def test_no_smaller_set_of_looks_would_link_where_some_must_not_meet(
    looks: Looks, forbidden: set[tuple[int, int]]
) -> None:
    found = linking(looks, forbidden)
    assert not {(link.candidate, link.evaluator) for link in found.links} & forbidden
    fewest = fewest_links(looks, forbidden, 3)
    linked = len(parts_by_rank(with_links(looks, found.links))) == 1
    assert linked == (fewest is not None)
    if linked:
        assert len(found.links) == fewest
