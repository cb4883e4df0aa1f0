"""One stand-in keeps a spot for the whole event, unless that costs something higher."""

from __future__ import annotations

from dataclasses import replace

import pytest

from drill.lineup.core.canonical import canonical
from drill.lineup.core.explain import compare, try_solve
from drill.lineup.core.problem import (
    Backup,
    Block,
    Level,
    LineupProblem,
    Member,
    Part,
    Pin,
    Rank,
    Segment,
    Skill,
    Spot,
)
from drill.lineup.core.solver import Limits, Stage, solve
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.certificate import certify
from drill.lineup.core.solver.constraint import solve_constraint
from tests.reference.bands import small_band
from tests.reference.brute_force import brute_force

PREGAME, HALFTIME, LAST = "pregame", "halftime", "last"


def band(
    *,
    away: dict[str, tuple[str, ...]],
    segments: tuple[str, ...] = (PREGAME, HALFTIME),
    second_spot: bool = False,
) -> LineupProblem:
    """Hal holds 1-1 (and Ida 1-2); Ann, Ben and Cy are its alternates 1, 2 and 3."""
    spots = ("1-1", "1-2") if second_spot else ("1-1",)
    holders = dict(zip(spots, ("Hal", "Ida"), strict=False))
    plays = (Skill("tpt"),)
    members = [
        Member(name, plays, holds=spot, rank="1", away=frozenset(away.get(name, ())))
        for spot, name in holders.items()
    ]
    members += [
        Member(
            name, plays, rank="1", standing=n, standing_part="tpt",
            away=frozenset(away.get(name, ())),
        )
        for n, name in enumerate(("Ann", "Ben", "Cy"), 1)
    ]  # fmt: skip
    return LineupProblem(
        members=tuple(members),
        spots=tuple(Spot(key, "1", "tpt") for key in spots),
        segments=tuple(Segment(g, spots) for g in segments),
        parts=(Part("tpt", "trumpet"),),
        ranks=(Rank("1"),),
        reference=tuple(((g, s), m) for g in segments for s, m in holders.items()),
    )


BOTH = (PREGAME, HALFTIME)


def test_the_second_alternate_goes_before_two_stand_ins() -> None:
    problem = band(away={"Hal": BOTH, "Ann": (HALFTIME,)})
    lineup = solve(problem)
    assert [lineup.at(g, "1-1").member for g in BOTH] == ["Ben", "Ben"]
    assert lineup.value(Level.SPLIT) == 0
    assert lineup.proven and certify(problem, lineup)


def test_a_hole_is_worse_than_two_stand_ins() -> None:
    problem = band(away={"Hal": BOTH, "Ann": (HALFTIME,), "Ben": (PREGAME,), "Cy": BOTH})
    lineup = solve(problem)
    assert [lineup.at(g, "1-1").member for g in BOTH] == ["Ann", "Ben"]
    assert lineup.value(Level.SPLIT) == 1
    assert lineup.proven and certify(problem, lineup)


def test_moving_a_holder_is_worse_than_two_stand_ins() -> None:
    """Ida could march both segments of Hal's spot, and Ann and Ben would have to follow her."""
    away = {"Hal": BOTH, "Ann": (HALFTIME,), "Ben": (PREGAME,), "Cy": BOTH}
    lineup = solve(band(away=away, second_spot=True))
    assert [lineup.at(g, "1-2").member for g in BOTH] == ["Ida", "Ida"]
    assert (lineup.value(Level.MOVED), lineup.value(Level.SPLIT)) == (0, 1)


def test_whoever_is_pinned_for_one_segment_marches_the_other_too() -> None:
    problem = replace(band(away={"Hal": BOTH}), pins=(Pin(HALFTIME, "1-1", "Cy"),))
    lineup = solve(problem)
    assert [lineup.at(g, "1-1").member for g in BOTH] == ["Cy", "Cy"]


def test_a_holder_out_for_one_segment_is_no_second_stand_in() -> None:
    lineup = solve(band(away={"Hal": (HALFTIME,)}))
    assert [lineup.at(g, "1-1").member for g in BOTH] == ["Hal", "Ann"]
    assert lineup.value(Level.SPLIT) == 0
    assert lineup.stage is Stage.MATCHING, "no columns were needed"


def test_a_named_backup_of_one_segment_does_not_split_the_spot() -> None:
    """Backups come on a later level than one stand-in for the whole event."""
    problem = band(away={"Hal": BOTH, "Cy": (HALFTIME,)})
    problem = replace(problem, backups=(Backup("1-1", "Cy", 1),))
    lineup = solve(problem)
    assert [lineup.at(g, "1-1").member for g in BOTH] == ["Ann", "Ann"]


def test_the_price_of_another_stand_in_names_the_level() -> None:
    problem = band(away={"Hal": BOTH})
    answer = solve(problem)
    blocked = replace(problem, blocks=(Block("Ann", HALFTIME, "1-1"),))
    other = try_solve(replace(blocked, pins=(Pin(PREGAME, "1-1", "Ann"),)), Limits())
    assert other is not None
    assert compare(answer, other).decided_at is Level.SPLIT


def test_three_segments_count_every_stand_in_after_the_first() -> None:
    segments = (PREGAME, HALFTIME, LAST)
    away = {
        "Hal": segments,
        "Ann": (HALFTIME, LAST),
        "Ben": (PREGAME, LAST),
        "Cy": (PREGAME, HALFTIME),
    }
    problem = band(away=away, segments=segments)
    lineup = solve(problem)
    assert lineup.value(Level.SPLIT) == 2
    assert certify(problem, lineup)


def test_a_proof_without_the_level_is_none() -> None:
    """The same proof under a lineup that splits the spot is refused."""
    problem = band(away={"Hal": BOTH, "Ann": (HALFTIME,)})
    lineup = solve(problem)
    split = tuple(
        replace(p, member="Ann") if p.segment == PREGAME else p for p in lineup.placements
    )
    assert not certify(problem, replace(lineup, placements=split))
    assert lineup.certificate is not None
    short = tuple(b for b in lineup.certificate.blocks if b.levels != (Level.SPLIT,))
    proof = replace(lineup.certificate, blocks=short)
    assert not certify(problem, replace(lineup, certificate=proof))


@pytest.mark.parametrize("seed", range(4))
def test_the_constraint_solver_finds_the_same(seed: int) -> None:
    """Stage by stage the same values, also where spots are split."""
    problem = canonical(small_band(seed, segments=BOTH))
    lineup = solve(problem)
    _, results = solve_constraint(build_model(problem), Limits(), None)
    assert [r.value for r in results[3:4]] == [lineup.value(Level.SPLIT)]
    assert all(r.proven for r in results[:4])


def test_a_tiny_band_of_three_segments_equals_every_lineup_there_is() -> None:
    away = {"Hal": (PREGAME, HALFTIME, LAST), "Ida": (LAST,), "Ann": (HALFTIME,), "Ben": (LAST,)}
    problem = band(away=away, segments=(PREGAME, HALFTIME, LAST), second_spot=True)
    best = brute_force(problem)
    assert best is not None
    assert tuple(r.value for r in solve(problem).levels) == best.values
