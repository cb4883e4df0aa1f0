"""Tiny random bands in which nearly every spot has its holder and a few alternates wait.

Stock and travel are set to what the lineup uses, or one more, so that they bind in answers.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace

from hypothesis import strategies as st

from drill.lineup.core.problem import (
    Block,
    LineupProblem,
    Member,
    Part,
    Pin,
    Placement,
    Pool,
    Segment,
    Settings,
    Skill,
    Spot,
)
from tests.reference import evaluate
from tests.reference.tiny import lacks, wardrobe

PARTS = (Part("a1", "alpha"), Part("a2", "alpha"), Part("b", "beta"))


def _member(
    draw: st.DrawFn,
    key: str,
    spot: Spot | None,
    segments: list[str],
    standing: int,
    dresses: bool,
) -> Member:
    more = draw(st.sets(st.sampled_from([p.key for p in PARTS]), max_size=2))
    parts = sorted(more | {spot.part if spot else draw(st.sampled_from(PARTS)).key})
    return Member(
        key,
        tuple(Skill(part, draw(st.booleans())) for part in parts),
        holds=spot.key if spot else None,
        rank="1" if spot else draw(st.sampled_from(("1", "2"))),
        standing=None if spot else standing,
        standing_part=None if spot else parts[0],
        experienced=draw(st.booleans()),
        away=frozenset(g for g in segments if draw(st.integers(0, 9)) == 9),
        must_travel=draw(st.integers(0, 3)) == 3,
        lacks=lacks(draw) if dresses else (),
    )


@st.composite
def staffed_problems(draw: st.DrawFn) -> LineupProblem:
    """3-5 spots with their holders, 1-3 alternates, 1-2 segments, pins and blocks."""
    spots = tuple(
        Spot(f"1-{n}", "1", draw(st.sampled_from(PARTS)).key, 1, draw(st.integers(0, 7)) == 7)
        for n in range(draw(st.integers(3, 5)))
    )
    keys = tuple(s.key for s in spots)
    segments = [Segment("g1", keys)]
    if draw(st.integers(0, 3)) == 3:
        segments.append(Segment("g2", keys[: draw(st.integers(1, len(keys)))]))
    names = [g.key for g in segments]
    waiting = draw(st.integers(1, 3))
    held: list[Spot | None] = [*spots, *[None] * waiting]
    dresses = draw(st.integers(0, 2)) == 2
    wears, spares = wardrobe(draw, names, [p.key for p in PARTS]) if dresses else ((), ())
    members = tuple(_member(draw, f"m{n}", s, names, n, dresses) for n, s in enumerate(held))
    pins = [
        Pin(g, m.holds, m.key)
        for g in names
        for m in members
        if m.holds and draw(st.integers(0, 14)) == 14
    ]
    problem = LineupProblem(
        members=members,
        spots=spots,
        segments=tuple(segments),
        parts=PARTS,
        reference=tuple(((g, m.holds), m.key) for g in names for m in members if m.holds),
        blocks=tuple(
            Block(m.key, None, draw(st.sampled_from(keys)))
            for m in members
            if draw(st.integers(0, 14)) == 14
        ),
        wears=wears,
        spares=spares,
        settings=Settings(pool=draw(st.sampled_from(Pool))),
    )
    seats = set(evaluate.seats_of(problem))
    people = {m.key: m for m in members}
    sound = tuple(
        p
        for p in pins
        if (p.segment, p.spot) in seats
        and evaluate.may_march(problem, people[p.member], (p.segment, p.spot))
    )
    return replace(problem, pins=sound)


def with_tight_limits(
    draw: st.DrawFn, problem: LineupProblem, placements: tuple[Placement, ...]
) -> LineupProblem:
    """The problem with stock and travel that the placements nearly use up."""
    people, spots = {m.key: m for m in problem.members}, {s.key: s for s in problem.spots}
    stock = []
    for kind in ("alpha", "beta"):
        used = Counter(
            p.segment
            for p in placements
            if p.member
            and evaluate.needs_school_instrument(problem, people[p.member], spots[p.spot], kind)
        )
        most = max(used.values(), default=0)
        if draw(st.integers(0, 2)) > 0:
            stock.append((kind, most + draw(st.sampled_from((0, 0, 1)))))
    going = {p.member for p in placements if p.member}
    going |= {m.key for m in problem.members if m.must_travel}
    limit = len(going) + draw(st.sampled_from((0, 0, 1)))
    tight = draw(st.booleans())
    return replace(problem, stock=tuple(stock), travel_limit=limit if tight else None)
