"""Credits for performances, and who has a letter, will have one, or may just miss it.

A performance counts once, by the best that was done in any of its segments. How many points
marching and standing by are worth, and how many a letter takes, is each band's own (common
practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from drill.record.core.record import Outcome


class Standing(StrEnum):
    """How a member stands towards the letter."""

    HAS = "has it"
    ON_COURSE = "on course"
    NEAR = "may just miss it"
    OUT = "out of reach"


@dataclass(frozen=True, slots=True)
class Rule:
    """Points of a performance, and of a letter."""

    marched: int
    stood_by: int
    needed: int


@dataclass(frozen=True, slots=True)
class Credit:
    """A member's points so far, how many performances they marched and stood by at, and what they
    can still miss."""

    points: int
    marched: int
    stood_by: int
    may_miss: int
    standing: Standing


def credit_of(events: Iterable[Iterable[Outcome]], left: int, rule: Rule) -> Credit:
    """Of a member whose outcomes are given event by event, with so many performances ``left``.

    ``may_miss``: of those left, how many they may miss and still have the letter by marching the
    rest; negative where even all of them do not suffice, by so many performances.
    """
    best = [_best(outcomes) for outcomes in events]
    marched, stood_by = best.count(Outcome.MARCHED), best.count(Outcome.STOOD_BY)
    points = marched * rule.marched + stood_by * rule.stood_by
    lacking = max(0, rule.needed - points)
    may_miss = left - -(-lacking // rule.marched)
    return Credit(points, marched, stood_by, may_miss, _standing(lacking, may_miss))


def _best(outcomes: Iterable[Outcome]) -> Outcome:
    """What counts of a performance."""
    found = set(outcomes)
    for outcome in (Outcome.MARCHED, Outcome.STOOD_BY):
        if outcome in found:
            return outcome
    return Outcome.AWAY


def _standing(lacking: int, may_miss: int) -> Standing:
    """Near is whoever has to march all that is left, or lacks no more than one performance."""
    if not lacking:
        return Standing.HAS
    if may_miss >= 1:
        return Standing.ON_COURSE
    return Standing.NEAR if may_miss >= -1 else Standing.OUT
