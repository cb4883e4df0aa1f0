"""Single changes that fill a hole: after each a lineup fills it and empties no other.

Chains of members who follow one another decide most of them. Where instruments or spare pieces
are short or the bus is full, a linear program that can let in each change decides the rest.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from drill.lineup.core.alternating import Chains, Pair, chains
from drill.lineup.core.canonical import canonical
from drill.lineup.core.cure import Cure, CureKind
from drill.lineup.core.problem import LineupProblem, Member, Pin, Seat, Skill
from drill.lineup.core.rules import Facts, block_applies
from drill.lineup.core.solver import Limits, Lineup
from drill.lineup.core.solver.building import build_model
from drill.lineup.core.solver.model import Model
from drill.lineup.core.solver.relaxed import Relaxed
from drill.lineup.core.solver.result import NoLineup


@dataclass(frozen=True)
class Stuck:
    """A hole, with the spots and members that its alternating paths reach. ``returnable`` are
    the only members whose return may be named."""

    seat: Seat
    spots: tuple[str, ...]
    members: tuple[str, ...]
    returnable: frozenset[str]


def cures(
    problem: LineupProblem, answer: Lineup, stuck: Stuck, limits: Limits = Limits()
) -> tuple[Cure, ...]:
    """Every single change after which a lineup fills the hole and all that the answer fills, by
    kind. Lessons are those of the parts of the spots reached: first of the rank's own who stand
    nowhere, then of others who do, then of who would move."""
    model = build_model(canonical(_all_granted(problem, stuck)))
    changes = _Changes(problem, model)
    loose, strict = _chains(problem, answer, stuck, model, changes)
    found, unsure = [], []
    for cure in changes.pairs:
        here = [p for g, p in changes.pairs[cure] if g == stuck.seat[0]]
        if strict.fill(here):
            found.append(cure)
        elif loose.fill(here):
            unsure.append(cure)
    if loose.fill():
        unsure += changes.rows
    found += _tried(model, changes, answer, stuck, unsure, limits)
    return tuple(sorted(found, key=_nearness(problem, answer, stuck)))


def _nearness(
    problem: LineupProblem, answer: Lineup, stuck: Stuck
) -> Callable[[Cure], tuple[object, ...]]:
    facts = Facts(problem)
    kinds = list(CureKind)
    marches = {p.member for p in answer.placements if p.segment == stuck.seat[0]}
    rank = facts.spots[stuck.seat[1]].rank

    def nearness(cure: Cure) -> tuple[object, ...]:
        member = facts.members.get(cure.member)
        own = member is not None and member.rank == rank
        free = cure.member not in marches
        return (
            kinds.index(cure.kind),
            not free,
            not own,
            cure.member,
            cure.part,
            cure.spot,
            cure.piece,
        )

    return nearness


def _chains(
    problem: LineupProblem, answer: Lineup, stuck: Stuck, model: Model, changes: _Changes
) -> tuple[Chains, Chains]:
    """Chains that break no rule of a pair, and of those the ones that no side rule can stop: with
    instruments that are not counted, nobody who might lack a spare piece, and nobody more to
    travel than may."""
    segment = stuck.seat[0]
    facts = Facts(problem)
    stands = {p.member: p.spot for p in answer.placements if p.segment == segment and p.member}
    pairs = [p for (g, p), obstacles in changes.found.items() if g == segment and not obstacles]
    free = {m.key for m in problem.members} - stands.keys()
    limited = {s.key for s in problem.spots if facts.parts[s.part].instrument in model.limits}
    short = frozenset[str]() if model.wardrobe is None else model.wardrobe.members
    safe = [(m, s) for m, s in pairs if s not in limited and m not in short]
    going = {p.member for p in answer.placements if p.member}
    going |= {m.key for m in problem.members if m.must_travel}
    room = problem.travel_limit is None or len(going) < problem.travel_limit
    sure = frozenset({stuck.seat[1]}) - limited
    taken = {m: s for m, s in stands.items() if s not in limited}
    return (
        chains({stuck.seat[1]}, stands, free, pairs),
        chains(sure, taken, free if room else free & going, safe),
    )


def _tried(
    model: Model,
    changes: _Changes,
    answer: Lineup,
    stuck: Stuck,
    unsure: list[Cure],
    limits: Limits,
) -> Iterator[Cure]:
    """Those of the changes that side rules let fill the hole."""
    if not unsure:
        return
    from drill.lineup.core.solver.trials import Trials

    let_in = [changes.relaxed(cure) for cure in unsure]
    stood = {(p.segment, p.spot) for p in answer.placements if p.member}
    filled = [n for n, seat in enumerate(model.arcs.seats) if seat in stood]
    try:
        trials = Trials(model, changes.there, filled, stuck.seat, let_in, limits.nodes)
    except NoLineup:
        return
    for cure, more in zip(unsure, let_in, strict=True):
        if trials.fills(more):
            yield cure


def _with_skill(member: Member, parts: frozenset[str]) -> Member:
    known = {skill.part for skill in member.skills}
    return replace(member, skills=(*member.skills, *(Skill(p) for p in sorted(parts - known))))


def _reached_parts(problem: LineupProblem, stuck: Stuck) -> frozenset[str]:
    return frozenset(s.part for s in problem.spots if s.key in stuck.spots)


def _all_granted(problem: LineupProblem, stuck: Stuck) -> LineupProblem:
    """The problem with all the changes at once."""
    parts, segment = _reached_parts(problem, stuck), stuck.seat[0]

    facts = Facts(problem)

    def granted(member: Member) -> Member:
        member = replace(member, lacks=tuple(k for k in member.lacks if not facts.hopeless(k)))
        if member.key in stuck.returnable:
            member = replace(member, away=member.away - {segment})
        return member if segment in member.away else _with_skill(member, parts)

    return replace(
        problem,
        members=tuple(granted(m) for m in problem.members),
        spots=tuple(replace(s, needs_experience=False) for s in problem.spots),
        blocks=(),
        pins=(),
    )


class _Changes:
    """What keeps members from seats today, each as the change that would lift it.

    ``found``: (segment, pair) -> obstacles, for every arc of the model in which all are lifted;
    ``pairs``: change -> the seats it alone opens; ``rows``: change -> the limit it raises.
    """

    def __init__(self, problem: LineupProblem, model: Model) -> None:
        self.facts, self.model = Facts(problem), model
        self.skills = {(m.key, s.part) for m in problem.members for s in m.skills}
        self.seat_pins = {(p.segment, p.spot): p for p in problem.pins}
        self.member_pins = {(p.segment, p.member): p for p in problem.pins}
        self.there = np.ones(model.arcs.size, np.bool_)
        self.found: dict[tuple[str, Pair], tuple[Cure, ...]] = {}
        self.pairs: dict[Cure, list[tuple[str, Pair]]] = defaultdict(list)
        self.arcs: dict[Cure, list[int]] = defaultdict(list)
        self.rows = {
            Cure(CureKind.INSTRUMENT, instrument=kind) if kind else Cure(CureKind.TRAVEL): rows
            for kind, rows in model.limits.items()
        }
        if model.wardrobe is not None:
            for (member, piece), rows in model.wardrobe.rows.items():
                self.rows[Cure(CureKind.PIECE, member, piece=piece)] = rows
        self._read_arcs()

    def relaxed(self, cure: Cure) -> Relaxed:
        """What the change lets into the model."""
        if cure in self.rows:
            return Relaxed(rows=self.rows[cure])
        return Relaxed(arcs=np.array(self.arcs[cure], np.int64))

    def _read_arcs(self) -> None:
        arcs, members = self.model.arcs, self.model.problem.members
        both = zip(arcs.seat.tolist(), arcs.member.tolist(), strict=True)
        for arc, (seat, member) in enumerate(both):
            segment, spot = arcs.seats[seat]
            pair = (members[member].key, spot)
            obstacles = tuple(dict.fromkeys(self._obstacles(pair[0], arcs.seats[seat])))
            self.found[segment, pair] = obstacles
            self.there[arc] = not obstacles
            if len(obstacles) == 1:
                self.pairs[obstacles[0]].append((segment, pair))
                self.arcs[obstacles[0]].append(arc)

    def _obstacles(self, key: str, seat: Seat) -> Iterator[Cure]:
        segment, spot = seat[0], self.facts.spots[seat[1]]
        member = self.facts.members[key]
        if segment in member.away:
            yield Cure(CureKind.BACK, key, segment=segment)
        if (key, spot.part) not in self.skills:
            yield Cure(CureKind.LESSON, key, part=spot.part)
        if spot.needs_experience and not member.experienced and member.holds != spot.key:
            yield Cure(CureKind.NEWCOMER, spot=spot.key)
        for lack in self.facts.lacking(member, segment, spot):
            if self.facts.hopeless(lack):
                yield Cure(CureKind.PIECE, key, piece=lack.kind)
        for block in self.facts.blocks.get(key, ()):
            if block_applies(block, segment, spot.key):
                place = {"segment": block.segment or "", "spot": block.spot or ""}
                yield Cure(CureKind.UNBLOCK, key, **place)
        for pin in (self.seat_pins.get(seat), self.member_pins.get((segment, key))):
            if pin is not None and pin != Pin(*seat, key):
                yield _unpin(pin)


def _unpin(pin: Pin) -> Cure:
    return Cure(CureKind.UNPIN, pin.member, segment=pin.segment, spot=pin.spot)
