"""The backup plan by hand: closed forms, locked lessons, the order of rows."""

from __future__ import annotations

from dataclasses import replace

from drill.backups.core.backup_plan import Estimate, Lesson
from drill.lineup.core.problem import Block, Pin
from tests.drill.backups.core.backup_plans import GAME, known_to, line, plan_of


def close(found: Estimate, exact: float) -> bool:
    """Within two and a half half-widths: seeds are fixed, so this never flickers."""
    return abs(found.mean - exact) <= 2.5 * found.half_width


def test_two_spots_and_one_alternate_by_hand() -> None:
    """Chances 0.3 and 0.2 for the spots, 0.1 for the alternate, who learns the likelier one."""
    problem = line(2, 1)
    chances = {"h1": 0.2, "h2": 0.3, "a1": 0.1}
    plan = plan_of(problem, chances, lessons_each=1)
    assert plan.lessons == (Lesson("a1", "1-2"),)
    assert plan.plain_lessons == (Lesson("a1", "1-1"),)
    assert close(plan.before, 0.5)
    assert close(plan.holes, 0.5 - 0.3 * 0.9)
    assert close(plan.plain, 0.5 - 0.2 * 0.9)
    assert close(plan.saved, 0.1 * 0.9)
    assert close(plan.by_risk, 0.5 - 0.3 * 0.9)


def test_one_alternate_with_two_lessons_fills_one_spot_only() -> None:
    problem = line(2, 1)
    plan = plan_of(problem, {"h1": 0.2, "h2": 0.3, "a1": 0.1}, lessons_each=2)
    assert {x.spot for x in plan.lessons} == {"1-1", "1-2"}
    assert close(plan.holes, 0.5 - 0.9 * (1 - 0.8 * 0.7))


def test_a_holder_who_knows_a_second_spot_makes_a_chain() -> None:
    """h1 knows 1-2 and the alternate 1-1: the alternate fills either, the second by a chain."""
    problem = line(2, 1)
    known = known_to(problem, ("h1", "1-2"), ("a1", "1-1"))
    plan = plan_of(problem, {"h1": 0.2, "h2": 0.3, "a1": 0.1}, known=known, lessons_each=0)
    assert plan.lessons == ()
    # Nobody is missed when only one of three is out; two out leave one hole.
    one = 0.5 - 0.9 * (1 - 0.8 * 0.7)
    assert close(plan.before, one)
    assert plan.before == plan.holes


def test_a_pinned_holder_stays_where_they_are() -> None:
    problem = replace(line(2, 1), pins=(Pin(GAME, "1-1", "h1"),))
    known = known_to(problem, ("h1", "1-2"), ("a1", "1-1"))
    plan = plan_of(problem, {"h2": 1.0}, known=known, lessons_each=0)
    assert plan.before.mean == 1.0


def test_locked_lessons_stay_and_count() -> None:
    problem = line(3, 1)
    locked = frozenset({Lesson("a1", "1-1")})
    plan = plan_of(problem, {"h2": 0.2, "h3": 0.3}, lessons_each=2, locked=locked)
    assert plan.lessons == (Lesson("a1", "1-1"), Lesson("a1", "1-3"))
    assert plan.locked == (Lesson("a1", "1-1"),)
    assert set(plan.plain_lessons) == {Lesson("a1", "1-1"), Lesson("a1", "1-2")}


def test_nobody_learns_what_they_may_not_march_or_what_nobody_needs() -> None:
    problem = line(4, 2, parts=2)
    problem = replace(problem, blocks=(Block("a2", None, "1-4"),))
    chances = {"h1": 0.3, "h2": 0.3, "h4": 0.5}
    plan = plan_of(problem, chances, lessons_each=4)
    assert {(x.member, x.spot) for x in plan.lessons} <= {
        ("a1", "1-1"),
        ("a2", "1-1"),
        ("a2", "1-2"),
    }
    assert not any(x.spot == "1-3" for x in plan.lessons), "h3 is never out"


def test_the_plain_rule_takes_spots_in_their_order_and_by_standing() -> None:
    problem = line(12, 2)
    plan = plan_of(problem, {}, lessons_each=3, known=known_to(problem, ("a2", "1-2")))
    assert [(x.member, x.spot) for x in plan.plain_lessons] == [
        ("a1", "1-1"),
        ("a1", "1-3"),
        ("a1", "1-4"),
        ("a2", "1-5"),
        ("a2", "1-6"),
        ("a2", "1-7"),
    ]
