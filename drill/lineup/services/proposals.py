"""Proposals: solving an event, the answers beside the answer, and what-ifs."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass

from bandops.lib.errors import Refused
from bandops.lib.keys import key
from drill.lineup.core import problem as core
from drill.lineup.core.changes import MemberChange, member_changes, seats_of
from drill.lineup.core.cure import Cure, CureKind
from drill.lineup.core.explain import Alternative, why_moved, why_stand_in, with_moves
from drill.lineup.core.holes import HoleReason, why_hole
from drill.lineup.core.level_values import is_own_alternate
from drill.lineup.core.problem import Origin, Placement, Seat
from drill.lineup.core.rules import Facts
from drill.lineup.core.solver import Limits, Lineup, solve
from drill.lineup.models import Lineup as StoredLineup
from drill.lineup.services import proving
from drill.lineup.services.problem_builder import Built

LIMITS = Limits(deterministic_work=8.0)


@dataclass(frozen=True)
class Proposal:
    """The best lineup, with the best that moves no holder and the best with one chain."""

    built: Built
    answer: Lineup
    without_moves: Alternative | None
    one_chain: Alternative | None


def propose(built: Built) -> Proposal:
    """Solve what of the event is not over. ContradictoryPins when the staff's orders cannot be
    kept; Refused when all of it is over."""
    refuse_all_over(built)
    event = built.event.pk
    try:
        answer = solve(built.to_come, limits=LIMITS, tell=proving.teller(event))
    finally:
        proving.done(event)
    if answer.value(core.Level.MOVED) == 0:
        return Proposal(built, answer, None, None)
    return Proposal(
        built,
        answer,
        with_moves(built.to_come, answer, 0, LIMITS),
        with_moves(built.to_come, answer, 1, LIMITS),
    )


def refuse_all_over(built: Built) -> None:
    """Refused where nothing of the event is to come: there is nothing to propose or publish."""
    if built.over and not built.to_come.segments:
        over = ", ".join(s.name for name, s in built.segments.items() if name in built.over)
        raise Refused(f"{over}: this is over and stays as it was marched.")


def reasons(built: Built, answer: Lineup) -> dict[Seat, dict[str, object]]:
    """The stored reason of every seat that is not simply held: codes, keys and numbers."""
    found: dict[Seat, dict[str, object]] = {}
    solved: dict[str, tuple[core.LineupProblem, Lineup]] = {}
    for placed in answer.placements:
        if placed.origin not in (Origin.STANDS_IN, Origin.HOLE):
            continue
        if placed.segment not in solved:
            solved[placed.segment] = _deciding(built.to_come, answer, placed.segment)
        problem, lineup = solved[placed.segment]
        seat = (placed.segment, placed.spot)
        if placed.origin is Origin.HOLE:
            found[seat] = hole_reason(why_hole(problem, lineup, seat, built.returnable, LIMITS))
        else:
            found[seat] = _stand_in(built, problem, lineup, placed)
    return found


def _deciding(
    problem: core.LineupProblem, answer: Lineup, segment: str
) -> tuple[core.LineupProblem, Lineup]:
    """The segment's own problem where it says the same as the answer, else the whole one: then
    what stands in another segment has decided too."""
    alone = core.of_segment(problem, segment)
    if alone is problem or len(problem.segments) == 1:
        return problem, answer
    lineup = solve(alone, limits=LIMITS)
    same = {p for p in answer.placements if p.segment == segment} == set(lineup.placements)
    return (alone, lineup) if same else (problem, answer)


def _stand_in(
    built: Built, problem: core.LineupProblem, lineup: Lineup, placed: Placement
) -> dict[str, object]:
    seat = (placed.segment, placed.spot)
    facts, pool = Facts(problem), problem.settings.pool
    member, spot = facts.members[placed.member or ""], facts.spots[placed.spot]
    reason: dict[str, object] = {
        "code": "stand-in",
        "backup": facts.backup_order.get((placed.spot, member.key)),
        "standing": member.standing if is_own_alternate(member, spot, pool) else None,
        "pool": pool.value,
    }
    load = built.load(member.key, spot.key, placed.segment)
    if load is not None:
        reason["load"] = {
            "new": load.new,
            "total": load.total,
            "largest": load.largest,
            "set": load.largest_set,
        }
    why = why_stand_in(problem, lineup, seat, LIMITS)
    if why is not None:
        reason |= {
            "level": why.decided_at.name if why.decided_at else "TIE",
            "runner_up": why.runner_up,
            "price": [[level.name, cost] for level, cost in why.price],
        }
    home = {m: s for (g, s), m in problem.reference if g == placed.segment}
    own = home.get(placed.member or "")
    if own is not None and own != placed.spot:
        stay = why_moved(problem, lineup, (placed.segment, own), placed.member or "", LIMITS)
        reason["moved_from"] = own
        if stay is not None and stay.decided_at is not None:
            reason["staying_costs"] = [[level.name, cost] for level, cost in stay.price]
    return reason


def hole_reason(why: HoleReason) -> dict[str, object]:
    """A hole's counts and cures, ready to store."""
    return {
        "code": "hole",
        "spots": len(why.spots),
        "members": len(why.members),
        "free": len(why.free),
        "cures": _cures(why.cures),
    }


def _cures(cures: Iterable[Cure]) -> list[dict[str, object]]:
    """As they are stored: lessons of one part, of which there may be hundreds, are one entry."""
    found: list[dict[str, object]] = []
    learners: dict[str, list[str]] = {}
    for cure in cures:
        if cure.kind is CureKind.LESSON:
            learners.setdefault(cure.part, []).append(cure.member)
        else:
            found.append({**asdict(cure), "kind": cure.kind.name})
    lesson = CureKind.LESSON.name
    return found + [{"kind": lesson, "part": p, "members": who} for p, who in learners.items()]


def placements_of(lineup: StoredLineup) -> tuple[Placement, ...]:
    """A stored lineup's rows as placements."""
    rows = lineup.rows.values_list("segment_id", "spot_id", "member_id", "origin")
    return tuple(
        Placement(key(g), key(s), key(m) if m else None, Origin(origin)) for g, s, m, origin in rows
    )


def against(lineup: StoredLineup, made: Proposal) -> tuple[MemberChange, ...]:
    """What taking the proposal would change in a stored lineup."""
    before = made.built.still(placements_of(lineup))
    return member_changes(seats_of(before), seats_of(made.answer.placements))


def against_own_places(made: Proposal) -> tuple[MemberChange, ...]:
    """What the answer changes against everybody standing in their own place."""
    problem = made.built.to_come
    own: dict[Seat, str | None] = {(g.key, s): None for g in problem.segments for s in g.spots}
    known = {m.key for m in problem.members}
    own |= {seat: member for seat, member in problem.reference if member in known}
    return member_changes(own, seats_of(made.answer.placements))
