"""Coverage: the story of the thin section and its lessons."""

from __future__ import annotations

from dataclasses import replace

from drill.backups.core.coverage import (
    Answer,
    Lesson,
    Move,
    SegmentCoverage,
    SpotCoverage,
    State,
    Support,
    failing_pairs,
    lessons,
)
from drill.lineup.core.problem import LineupProblem, Part, Placement, Segment, Skill
from drill.lineup.core.solver import solve
from tests.drill.backups.core.covered import covered, holders
from tests.drill.lineup.core.tiny import SEGMENT, thin_section

KNOWS = {
    "Quinn": ("S1", "S3"),
    "Rosa": ("S2",),
    "Theo": ("S3",),
    "Uma": ("S4",),
    "Xen": ("S1", "S2"),
    "Yve": ("S2",),
}
KNOWN = frozenset((member, spot) for member, spots in KNOWS.items() for spot in spots)


def thin_section_of_one_part() -> LineupProblem:
    """The same section where all play one part, so that what they know decides."""
    problem = thin_section()
    return replace(
        problem,
        members=tuple(replace(m, skills=(Skill("a"),)) for m in problem.members),
        spots=tuple(replace(s, part="a") for s in problem.spots),
        parts=(Part("a", "horn"),),
    )


def check_the_thin_section(segment: SegmentCoverage) -> None:
    quinn, rosa, theo, uma = segment.spots
    assert quinn == SpotCoverage(
        "S1",
        "Quinn",
        State.THIN,
        Answer.DIRECT,
        (Move("Xen", None, "S1"),),
        answers=1,
        direct=("Xen",),
        hangs_on=("Xen",),
    )
    assert (rosa.state, rosa.answer, rosa.answers) == (State.SAFE, Answer.DIRECT, 2)
    assert set(rosa.direct) == {"Xen", "Yve"}
    assert (theo.state, theo.answer) == (State.THIN, Answer.CHAIN)
    assert theo.moves == (Move("Quinn", "S1", "S3"), Move("Xen", None, "S1"))
    assert theo.hangs_on == ("Xen", "Quinn")
    assert (uma.state, uma.answer, uma.moves) == (State.BARE, Answer.NONE, ())
    assert segment.supports == (Support("Xen", ("S1", "S3")), Support("Quinn", ("S3",)))


def test_the_thin_section_as_parts_and_as_spots_known() -> None:
    check_the_thin_section(covered(thin_section()))
    check_the_thin_section(covered(thin_section_of_one_part(), known=KNOWN))


def test_in_the_thin_section_quinn_and_theo_fail_together_and_rosa_and_theo_do_not() -> None:
    pairs = failing_pairs(covered(thin_section()))
    assert pairs.pairs == (("Quinn", "Theo"),)
    assert pairs.groups == (("Quinn", "Theo"),)
    assert pairs.hopeless == ("Uma",)
    for out, holes in ((["Quinn", "Theo"], 1), (["Rosa", "Theo"], 0), (["Uma"], 1)):
        assert len(solve(thin_section(away=out)).holes) == holes


def test_one_lesson_makes_the_thin_section_answer_and_each_such_lesson_is_named() -> None:
    problem = thin_section_of_one_part()
    found = lessons(problem, lineup_of_holders(problem), known=KNOWN)
    assert len(found.lessons) == 1
    assert found.proven
    assert set(found.alone) == {Lesson("Xen", "S4"), Lesson("Yve", "S4")}
    assert set(found.lessons) <= set(found.alone)
    assert found.hopeless == ()
    learnt = KNOWN | {("Yve", "S4")}
    assert covered(problem, known=learnt).count(State.BARE) == 0


def lineup_of_holders(problem: LineupProblem) -> tuple[Placement, ...]:
    found = holders(problem)
    assert {p.spot: p.member for p in found} == dict(
        zip(("S1", "S2", "S3", "S4"), ("Quinn", "Rosa", "Theo", "Uma"), strict=True)
    )
    return found


def test_when_everybody_knows_everything_no_lesson_is_needed() -> None:
    problem = thin_section_of_one_part()
    everything = frozenset((m, s) for m in KNOWS for s in ("S1", "S2", "S3", "S4"))
    found = lessons(problem, holders(problem), known=everything)
    assert (found.lessons, found.alone, found.hopeless) == ((), (), ())
    assert found.proven


def test_a_spot_for_which_nobody_free_is_qualified_is_named_as_hopeless() -> None:
    found = lessons(thin_section(), holders(thin_section()), known=KNOWN)
    assert found.lessons == ()
    assert found.hopeless == ((SEGMENT, "S4"),)


def test_two_segments_share_a_lesson() -> None:
    problem = thin_section_of_one_part()
    spots = ("S1", "S2", "S3", "S4")
    problem = replace(
        problem,
        segments=(Segment("half", spots), Segment("pregame", spots)),
        reference=tuple(
            ((g, s), m) for g in ("half", "pregame") for (_, s), m in problem.reference
        ),
    )
    found = lessons(problem, holders(problem), known=KNOWN)
    assert len(found.lessons) == 1
    assert len(found.alone) == 2


def test_lessons_that_no_single_one_replaces_are_counted_over_the_segments() -> None:
    """Two alternates, each present in one segment only: each segment needs its own."""
    problem = thin_section_of_one_part()
    spots = ("S1", "S2", "S3", "S4")
    away = {"Xen": "half", "Yve": "pregame"}
    problem = replace(
        problem,
        members=tuple(
            replace(m, away=frozenset({away[m.key]} if m.key in away else ()))
            for m in problem.members
        ),
        segments=(Segment("half", spots), Segment("pregame", spots)),
        reference=tuple(
            ((g, s), m) for g in ("half", "pregame") for (_, s), m in problem.reference
        ),
    )
    known = KNOWN | {("Xen", "S2"), ("Yve", "S1")}
    found = lessons(problem, holders(problem), known=known)
    assert {(x.member, x.spot) for x in found.lessons} == {("Xen", "S4"), ("Yve", "S4")}
    assert found.proven
    assert found.alone == ()
