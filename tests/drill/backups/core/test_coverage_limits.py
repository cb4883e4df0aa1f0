"""Coverage: what pins, stock and the bus do, and a library's matchings."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching

from drill.backups.core.coverage import (
    Answer,
    Limiting,
    SpotCoverage,
    State,
    coverage,
    failing_pairs,
)
from drill.lineup.core.problem import Block, LineupProblem, Pin, Segment, Skill
from tests.drill.backups.core.covered import covered, holders
from tests.drill.lineup.core.tiny import SEGMENT, section, thin_section
from tests.reference import evaluate
from tests.reference.bands import band


def test_a_pinned_member_never_moves_to_another_seat() -> None:
    pinned = replace(thin_section(), pins=(Pin(SEGMENT, "S1", "Quinn"),))
    segment = covered(pinned)
    assert segment.at("S3").state is State.BARE
    assert segment.at("S1").direct == ("Xen",), "the pin falls with Quinn"


def test_a_blocked_or_absent_member_answers_nothing() -> None:
    blocked = replace(thin_section(), blocks=(Block("Xen", None, "S1"),))
    assert covered(blocked).at("S1").state is State.BARE
    away = thin_section(away=["Xen"])
    assert covered(away).at("S2").direct == ("Yve",)


def test_a_hole_and_a_seat_left_open_are_no_absences() -> None:
    problem = replace(thin_section(away=["Uma"]), left_open=frozenset({(SEGMENT, "S2")}))
    segment = covered(problem)
    assert [s.spot for s in segment.spots] == ["S1", "S3", "S4"]
    assert segment.at("S4") == SpotCoverage("S4", None, State.HOLE)
    with pytest.raises(KeyError):
        segment.at("S2")


def stocked(own: bool) -> LineupProblem:
    """Two spots, one school horn that B plays; A and, if ``own``, the alternate have their own."""
    problem = section(
        ["S1", "S2"],
        {"A": ["S1"], "B": ["S2"], "C": ["S1", "S2"]},
        alternates=["C"],
        stock=(("horn", 1),),
    )
    own_horns = {"A": True, "B": False, "C": own}
    return replace(
        problem,
        members=tuple(
            replace(m, skills=tuple(Skill(s.part, own_horns[m.key]) for s in m.skills))
            for m in problem.members
        ),
    )


def test_stock_takes_an_answer_away_and_is_named() -> None:
    with_own, without = covered(stocked(own=True)), covered(stocked(own=False))
    assert with_own.at("S1").direct == ("C",)
    assert without.at("S1").state is State.BARE
    assert without.at("S1").rule is Limiting.STOCK
    assert without.at("S2").direct == ("C",), "B leaves the horn to C"
    assert without.limits == (Limiting.STOCK,)


def test_a_place_in_the_bus_that_stays_promised_takes_an_answer_away() -> None:
    problem = section(["S1"], {"A": ["S1"], "C": ["S1"]}, alternates=["C"], travel_limit=1)
    assert covered(problem).at("S1").answer is Answer.DIRECT, "A leaves the place to C"
    promised = replace(
        problem,
        members=tuple(replace(m, must_travel=m.key == "A") for m in problem.members),
    )
    assert covered(promised).at("S1").rule is Limiting.TRAVEL
    assert covered(replace(promised, travel_limit=2)).at("S1").answer is Answer.DIRECT


def test_two_segments_may_need_two_who_step_in_where_one_place_is_left() -> None:
    problem = section(["S1"], {"A": ["S1"], "C": ["S1"], "D": ["S1"]}, alternates=["C", "D"])
    away = {"C": "half", "D": "pregame", "A": ""}
    problem = replace(
        problem,
        members=tuple(replace(m, away=frozenset({away[m.key]})) for m in problem.members),
        segments=(Segment("half", ("S1",)), Segment("pregame", ("S1",))),
        reference=((("half", "S1"), "A"), (("pregame", "S1"), "A")),
        travel_limit=1,
    )
    rules = [g.spots[0].rule for g in coverage(problem, holders(problem))]
    assert sorted(rules, key=str) == [None, Limiting.TRAVEL]
    roomy = replace(problem, travel_limit=2)
    assert {g.spots[0].rule for g in coverage(roomy, holders(roomy))} == {None}


def allowed(problem: LineupProblem, spots: list[str]) -> np.ndarray[Any, np.dtype[np.bool_]]:
    """Spot by member: who may march what."""
    by_part: dict[str, list[int]] = {}
    for n, member in enumerate(problem.members):
        for skill in member.skills:
            by_part.setdefault(skill.part, []).append(n)
    parts = {s.key: s.part for s in problem.spots}
    matrix = np.zeros((len(spots), len(problem.members)), np.bool_)
    for row, spot in enumerate(spots):
        for n in by_part[parts[spot]]:
            matrix[row, n] = evaluate.may_march(problem, problem.members[n], ("halftime", spot))
    return matrix


@pytest.mark.source("SciPy, maximum_bipartite_matching (Hopcroft and Karp)")
@pytest.mark.parametrize("seed", range(3))
def test_a_band_of_300_agrees_with_matchings_of_a_library(seed: int) -> None:
    """All single absences, and two hundred pairs, matched again without those who are out."""
    problem = band(300, seed=seed, side_rules=False)
    placements = holders(problem)
    spots = sorted(p.spot for p in placements if p.member)
    people = {m.key: n for n, m in enumerate(problem.members)}
    matrix = allowed(problem, spots)

    def size(out: list[str]) -> int:
        present = matrix.copy()
        present[:, [people[m] for m in out]] = False
        return int((maximum_bipartite_matching(csr_matrix(present), perm_type="column") >= 0).sum())

    (segment,) = coverage(problem, placements)
    assert size([]) == len(spots)
    for row in segment.spots:
        if row.member is not None:
            assert (row.state is State.BARE) == (size([row.member]) < len(spots))
    rng = np.random.default_rng(seed)
    fine = [r.member for r in segment.spots if r.member and r.state is not State.BARE]
    failing = set(failing_pairs(segment).pairs)
    drawn = {tuple(sorted(rng.choice(fine, 2, replace=False).tolist())) for _ in range(150)}
    for a, b in sorted(drawn | set(sorted(failing)[:50])):
        assert ((a, b) in failing) == (size([a, b]) < len(spots))
