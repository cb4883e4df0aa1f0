"""The demo band, dressed: solving who marches and what they wear together is never worse than
filling first and dressing after, and at times strictly better."""

from __future__ import annotations

import io
import random
from dataclasses import replace

import pytest
from django.core.management import call_command

from drill.events import queries as event_queries
from drill.lineup.core.check import violations
from drill.lineup.core.dressing import undressed
from drill.lineup.core.level_values import level_values
from drill.lineup.core.problem import Level, LineupProblem, Member, Origin, Placement
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver import solve
from drill.lineup.services.problem_builder import build
from drill.outfits.models import Worn
from drill.readiness.services.ready import ready_for
from roster.equipment.models import Item, Ticket
from roster.people.models import Season

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


def filled_first(problem: LineupProblem) -> tuple[Placement, ...]:
    """Who would march if nobody looked at uniforms; whoever then cannot be dressed stays out."""
    facts = Facts(problem)
    rows = list(solve(replace(problem, wears=())).placements)

    def without(keys: set[str]) -> list[Placement]:
        return [
            replace(p, member=None, origin=Origin.HOLE) if p.member in keys else p for p in rows
        ]

    hopeless = {
        p.member
        for p in rows
        if p.member and facts.why_not(facts.members[p.member], p.segment, facts.spots[p.spot])
    }
    rows = without(hopeless)
    rows = without({m for members in undressed(facts, rows).values() for m in members})
    assert violations(problem, rows) == ()
    return tuple(rows)


def both(problem: LineupProblem) -> tuple[list[int], list[int]]:
    """The levels of the joint lineup, and of the one filled first."""
    joint = solve(problem)
    assert joint.proven and violations(problem, joint.placements) == ()
    after = level_values(problem, filled_first(problem))
    return [joint.value(level) for level in Level], [after[level] for level in Level]


def away(problem: LineupProblem, keys: set[str]) -> LineupProblem:
    every = frozenset(g.key for g in problem.segments)

    def absent(member: Member) -> Member:
        return replace(member, away=every) if member.key in keys else member

    return replace(problem, members=tuple(absent(m) for m in problem.members))


@pytest.fixture
def problem(db: None) -> LineupProblem:
    call_command("load_demo", stdout=io.StringIO(), stderr=io.StringIO())
    event = event_queries.next_event(Season.objects.get())
    assert event is not None
    return build(event).problem


def test_the_demo_store_and_its_lineups(problem: LineupProblem) -> None:
    facts = Facts(problem)
    assert Item.objects.count() > 1_400 and Worn.objects.count() > 30
    assert Ticket.objects.filter(work="repair", item__kind__name="Sousaphone").count() == 1
    hopeless = [m for m in problem.members if any(facts.hopeless(k) for k in m.lacks)]
    alternates = [m for m in hopeless if m.standing is not None]
    assert len(alternates) >= 2, "two alternates without a uniform that fits"
    _never_worse(problem)
    _strictly_better(problem, facts, alternates)
    event = event_queries.next_event(Season.objects.get())
    assert event is not None
    assert ready_for(event).wardrobe.kinds


def _never_worse(problem: LineupProblem) -> None:
    rng = random.Random(13)
    holders = [m.key for m in problem.members if m.holds]
    waiting = [m.key for m in problem.members if not m.holds]
    for _ in range(6):
        out = {*rng.sample(holders, 14), *rng.sample(waiting, 12)}
        joint, after = both(away(problem, out))
        assert joint <= after


def _strictly_better(problem: LineupProblem, facts: Facts, alternates: list[Member]) -> None:
    """A holder is out; the alternate of the rank has nothing to wear, one of another rank has."""
    better = 0
    for one in alternates:
        spot = next(s for s in problem.spots if s.rank == one.rank and s.part == one.standing_part)
        holder = next(m.key for m in problem.members if m.holds == spot.key)
        others = {
            m.key
            for m in problem.members
            if m.key != one.key and m.rank == one.rank and m.standing_part == one.standing_part
            if m.standing is not None
        }
        joint, after = both(away(problem, {holder, *others}))
        assert joint <= after
        better += joint[0] < after[0]
    assert better, "fewer open spots than when filled first"
