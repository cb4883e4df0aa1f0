"""Rows settled after a change by hand: who is left over, and how each row came about."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from drill.lineup.core import problem as core
from drill.lineup.core.check import Rule, Violation, violations
from drill.lineup.core.problem import Origin, Placement, Seat
from drill.lineup.services.problem_builder import Built


def without_clashes(placements: list[Placement]) -> list[Placement]:
    """One row a seat and one seat a member: later rows (the pins) win."""
    seats: dict[Seat, Placement] = {}
    people: dict[tuple[str, str | None], Seat] = {}
    for placed in placements:
        seat, who = (placed.segment, placed.spot), (placed.segment, placed.member)
        for old in (people.get(who), seat):
            gone = seats.pop(old, None) if old else None
            if gone is not None:
                people.pop((gone.segment, gone.member), None)
        seats[seat], people[who] = placed, seat
    return list(seats.values())


def settle(
    built: Built, placements: Iterable[Placement], keep: Collection[Seat] = ()
) -> tuple[tuple[Placement, ...], tuple[Seat, ...]]:
    """The placements without rows that became impossible, and the seats that were emptied; of
    what is not over.

    Seats that came or went with the roster are added or dropped. The seats ``keep`` are left for
    the checker to judge.
    """
    problem = built.to_come
    rows = {(p.segment, p.spot): p for p in placements}
    seats = [(g.key, s) for g in problem.segments for s in g.spots]
    full = [rows.get(seat) or Placement(*seat, None, Origin.HOLE) for seat in seats]
    full = [originate(problem, p) for p in full]
    bad = {
        (v.segment, v.spot)
        for v in violations(problem, full)
        if v.rule in (Rule.MAY_NOT_MARCH, Rule.UNKNOWN) and (v.segment, v.spot) not in keep
    }
    done = [
        originate(problem, Placement(p.segment, p.spot, None, p.origin))
        if (p.segment, p.spot) in bad
        else p
        for p in full
    ]
    return tuple(done), tuple(sorted(bad))


def say(built: Built, violation: Violation) -> str:
    """A broken rule in words."""
    spot, member = built.spots.get(violation.spot), built.members.get(violation.member)
    segment = built.segments.get(violation.segment)
    where = " ".join(str(x) for x in (segment, spot) if x)
    at_home = violation.member in built.at_home
    why_not = "not on the travel list" if at_home else violation.detail
    words = {
        Rule.MAY_NOT_MARCH: f"{member} may not march it ({why_not})",
        Rule.PIN: f"{member} is pinned there; lift the pin first",
        Rule.STOCK: "more of the school's instruments are needed than there are",
        Rule.DRESS: f"no spare piece is left for {member}",
        Rule.TRAVEL: f"more people than may travel ({violation.detail})",
        Rule.TWICE_MEMBER: f"{member} is in two spots",
        Rule.UNKNOWN: "somebody in it is no longer an active member",
    }
    return f"{where}: {words.get(violation.rule, violation.rule.value)}"


def originate(problem: core.LineupProblem, placed: Placement) -> Placement:
    """The placement with the origin that fits it."""
    seat = (placed.segment, placed.spot)
    if placed.member is None:
        origin = Origin.LEFT_OPEN if seat in problem.left_open else Origin.HOLE
    elif any((p.segment, p.spot) == seat for p in problem.pins):
        origin = Origin.PINNED
    else:
        held = any(m.key == placed.member and m.holds == placed.spot for m in problem.members)
        origin = Origin.HOLDS if held else Origin.STANDS_IN
    return Placement(*seat, placed.member, origin)
