"""Who could take a seat, and what each would cost."""

from __future__ import annotations

from dataclasses import dataclass

from drill.lineup.core.explain import Alternative, why_moved
from drill.lineup.core.level_values import is_own_alternate
from drill.lineup.core.problem import LineupProblem, Member, Seat, Spot
from drill.lineup.core.rules import Facts, WhyNot
from drill.lineup.core.solver import Limits, Lineup


@dataclass(frozen=True, slots=True)
class Candidate:
    """A member for a seat: why not, or the price of putting them there and what else moves."""

    member: str
    why_not: tuple[WhyNot, ...]
    stands_at: str | None
    alternative: Alternative | None = None


def candidates(
    problem: LineupProblem, answer: Lineup, seat: Seat, limits: Limits = Limits(), most: int = 8
) -> tuple[Candidate, ...]:
    """Members for a seat: those who may march it, best first, priced by solving with a pin, then
    those of the spot's part and rank who may not, with the reasons."""
    segment, key = seat
    facts = Facts(problem)
    spot = facts.spots[key]
    stands = {p.member: p.spot for p in answer.placements if p.segment == segment and p.member}
    able, unable = [], []
    for member in problem.members:
        reasons = facts.why_not(member, segment, spot)
        if not reasons:
            able.append(member)
        elif WhyNot.NOT_QUALIFIED not in reasons or _belongs(member, spot):
            unable.append(Candidate(member.key, reasons, stands.get(member.key)))
    order = {c.member: c.order for c in problem.backups if c.spot == key}

    def nearness(member: Member) -> tuple[object, ...]:
        return (
            stands.get(member.key) != key,
            order.get(member.key, 99),
            not is_own_alternate(member, spot),
            member.key in stands,
            member.rank != spot.rank,
            member.standing or 0,
            member.key,
        )

    ranked = sorted(able, key=nearness)
    found = []
    for number, member in enumerate(ranked):
        priced = number < most and stands.get(member.key) != key
        alternative = why_moved(problem, answer, seat, member.key, limits) if priced else None
        found.append(Candidate(member.key, (), stands.get(member.key), alternative))
    return (*found, *unable)


def _belongs(member: Member, spot: Spot) -> bool:
    return member.rank == spot.rank and member.standing is not None
