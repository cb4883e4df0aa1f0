"""The checker: each rule is seen to be broken."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, replace

import pytest

from drill.lineup.core.canonical import canonical, problem_hash
from drill.lineup.core.check import Rule, violations
from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import Block, LineupProblem, Origin, Pin, Placement
from drill.lineup.core.solver import ContradictoryPins, NoLineup, solve
from drill.lineup.core.solver.certificate import certify
from drill.lineup.core.solver.result import PinFault
from tests.drill.lineup.core.tiny import SEGMENT, section
from tests.reference.bands import small_band

TWO = section(["S1", "S2"], {"A": ["S1"], "B": ["S2"]})


def rows(*seats: tuple[str, str | None]) -> list[Placement]:
    return [
        Placement(SEGMENT, spot, member, Origin.HOLDS if member else Origin.HOLE)
        for spot, member in seats
    ]


@pytest.mark.parametrize(
    ("problem", "seats", "rule"),
    [
        (TWO, [("S1", "A"), ("S2", "A")], Rule.TWICE_MEMBER),
        (TWO, [("S1", "B"), ("S2", None)], Rule.MAY_NOT_MARCH),
        (TWO, [("S1", "A")], Rule.MISSING),
        (TWO, [("S1", "A"), ("S1", None), ("S2", "B")], Rule.TWICE_SEAT),
        (TWO, [("S1", "A"), ("S9", "B")], Rule.UNKNOWN),
        (TWO, [("S1", "A"), ("S2", "Nobody")], Rule.UNKNOWN),
        (
            replace(TWO, blocks=(Block("A", spot="S1"),)),
            [("S1", "A"), ("S2", "B")],
            Rule.MAY_NOT_MARCH,
        ),
        (replace(TWO, pins=(Pin(SEGMENT, "S1", "A"),)), [("S1", None), ("S2", "B")], Rule.PIN),
        (replace(TWO, stock=(("horn", 1),)), [("S1", "A"), ("S2", "B")], Rule.STOCK),
        (replace(TWO, travel_limit=1), [("S1", "A"), ("S2", "B")], Rule.TRAVEL),
        (replace(TWO, max_moved=0), [("S1", "A"), ("S2", None)], Rule.MOVED),
        (
            replace(TWO, left_open=frozenset({(SEGMENT, "S1")})),
            [("S1", None), ("S2", "B")],
            Rule.ORIGIN,
        ),
    ],
)
def test_a_broken_rule_is_named(
    problem: LineupProblem, seats: list[tuple[str, str | None]], rule: Rule
) -> None:
    assert rule in {v.rule for v in violations(problem, rows(*seats))}


def test_a_whole_lineup_breaks_nothing() -> None:
    assert violations(TWO, rows(("S1", "A"), ("S2", "B"))) == ()


@pytest.mark.parametrize(
    ("pins", "fault"),
    [
        ((Pin(SEGMENT, "S1", "B"),), PinFault.CANNOT_MARCH),
        ((Pin(SEGMENT, "S1", "Nobody"),), PinFault.CANNOT_MARCH),
        ((Pin(SEGMENT, "S1", "A"), Pin(SEGMENT, "S1", "B")), PinFault.TWO_MEMBERS),
    ],
)
def test_contradictory_pins_are_refused_before_solving(
    pins: tuple[Pin, ...], fault: PinFault
) -> None:
    with pytest.raises(ContradictoryPins) as refusal:
        solve(replace(TWO, pins=pins))
    assert fault in {f.code for f in refusal.value.faults}


def test_no_lineup_at_all_is_told_from_an_empty_one() -> None:
    members = tuple(replace(m, must_travel=True) for m in TWO.members)
    with pytest.raises(NoLineup):
        solve(replace(TWO, members=members, travel_limit=1))
    empty = solve(replace(TWO, travel_limit=0))
    assert len(empty.holes) == 2


def test_a_certificate_does_not_fit_another_lineup() -> None:
    answer = solve(TWO)
    assert certify(TWO, answer)
    worse = replace(answer, placements=tuple(rows(("S1", None), ("S2", "B"))))
    assert not certify(TWO, worse)
    assert answer.certificate is not None
    block = answer.certificate.blocks[0]
    prices = tuple(price + 1 for price in block.prices)
    forged = replace(answer.certificate, blocks=(replace(block, prices=prices),))
    assert not certify(TWO, replace(answer, certificate=forged))
    assert not certify(TWO, replace(answer, certificate=None))


def test_the_hash_knows_no_order_of_rows() -> None:
    turned = replace(TWO, members=TWO.members[::-1], spots=TWO.spots[::-1])
    assert problem_hash(turned) == problem_hash(TWO)
    assert problem_hash(replace(TWO, travel_limit=3)) != problem_hash(TWO)


def test_the_hash_stays_what_stored_lineups_have() -> None:
    """Lineups keep it to tell whether facts have changed: one JSON text with sorted names."""
    problem = canonical(small_band(3))
    said = asdict(replace(problem, relearning=Lessons()))
    said["relearning"] = [list(row) for row in problem.relearning]
    text = json.dumps(said, default=sorted, sort_keys=True)
    assert problem_hash(problem) == hashlib.sha256(text.encode()).hexdigest()
