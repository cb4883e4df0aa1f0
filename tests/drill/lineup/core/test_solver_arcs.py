"""Which seats are known to have the same members."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace

import pytest

from drill.lineup.core.canonical import canonical
from drill.lineup.core.problem import Block, LineupProblem, Pin
from drill.lineup.core.solver.arcs import Arcs, build_arcs
from tests.reference.bands import small_band

SEGMENTS = ("halftime", "pregame")


def members(arcs: Arcs, seat: int) -> tuple[int, ...]:
    return tuple(arcs.member[arcs.start[seat] : arcs.start[seat + 1]].tolist())


def members_by_kin(problem: LineupProblem) -> dict[int, list[tuple[int, ...]]]:
    arcs = build_arcs(canonical(problem))
    found = defaultdict(list)
    for seat, kin in enumerate(arcs.kin.tolist()):
        found[kin].append(members(arcs, seat))
    return found


def with_blocks(problem: LineupProblem, seed: int) -> LineupProblem:
    """Members kept from everything, from a segment and from spots, of the first ranks."""
    holders = [m for m in problem.members if m.holds][seed : seed + 6]
    spots = [s.key for s in problem.spots]
    blocks = [Block(m.key) for m in holders[:2]]
    blocks += [Block(m.key, SEGMENTS[0]) for m in holders[2:4]]
    blocks += [Block(m.key, spot=spots[seed + n]) for n, m in enumerate(holders[4:])]
    blocks += [Block(m.key, spot=m.holds) for m in holders[4:]]
    return replace(problem, blocks=tuple(blocks), pins=())


@pytest.mark.parametrize("seed", range(12))
def test_seats_of_one_number_have_the_same_members(seed: int) -> None:
    found = members_by_kin(with_blocks(small_band(seed, segments=SEGMENTS), seed))
    alone = found.pop(-1, [])
    assert all(len(set(rows)) == 1 for rows in found.values())
    assert sum(map(len, found.values())) > len(alone) > 0


def test_with_a_pin_nothing_is_said() -> None:
    problem = with_blocks(small_band(1), 1)
    member = next(m for m in problem.members if m.holds and not m.away)
    pinned = replace(problem, blocks=(), pins=(Pin(SEGMENTS[0], member.holds or "", member.key),))
    assert set(members_by_kin(pinned)) == {-1}
