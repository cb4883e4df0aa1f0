"""Synthetic bands of a given size, for the references and the benchmark: seeded, made of numbers.

Ranks of 12-15 spots, two or three alternates a rank, one member in eight who doubles, one in
eleven away, stock and travel that bind. The shares are common practice, no source.
"""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from dataclasses import dataclass, replace

from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import (
    Backup,
    Block,
    LineupProblem,
    Member,
    Part,
    Pin,
    Rank,
    Segment,
    Skill,
    Spot,
)

SIZES = (192, 300, 1008, 5004)

LINES: tuple[tuple[str, float, tuple[str, ...]], ...] = (
    ("trumpet", 0.1, ("trumpet 1", "trumpet 2", "trumpet 3")),
    ("clarinet", 0.1, ("clarinet",)),
    ("trombone", 0.3, ("trombone 1", "trombone 2")),
    ("alto saxophone", 0.2, ("alto saxophone",)),
    ("mellophone", 0.9, ("mellophone",)),
    ("snare", 0.8, ("snare", "tenor drums")),
    ("trumpet", 0.1, ("trumpet 1", "trumpet 2", "trumpet 3")),
    ("sousaphone", 1.0, ("sousaphone",)),
    ("baritone", 0.8, ("baritone",)),
    ("bass drum", 1.0, ("bass drum 1", "bass drum 2", "bass drum 3", "cymbals")),
    ("tenor saxophone", 0.4, ("tenor saxophone",)),
    ("flags", 1.0, ("flags",)),
    ("piccolo", 0.1, ("piccolo",)),
    ("trombone", 0.3, ("trombone 1", "trombone 2")),
)
"""What a rank plays: the instrument, the share who borrow the school's, the parts."""

AWAY = 0.09
DOUBTFUL_OUT = 0.01
DOUBLES = 1 / 8
MOST_LESSONS = 40
"""Spots a member for whom a relearning cost is known."""


@dataclass(frozen=True)
class _Line:
    rank: str
    instrument: str
    borrowed: float
    parts: tuple[str, ...]
    spots: tuple[Spot, ...]


def rank_size(spots: int) -> int:
    """The largest rank of 12-15 spots that divides the band."""
    return max(size for size in range(12, 16) if spots % size == 0)


def _lines(rng: random.Random, spots: int, first: int) -> list[_Line]:
    size = rank_size(spots)
    lines = []
    for number in range(1, spots // size + 1):
        instrument, borrowed, parts = LINES[(first + number - 1) % len(LINES)]
        rank = str(number)
        row = tuple(
            Spot(
                key=f"{number}-{place + 1}",
                rank=rank,
                part=parts[place * len(parts) // size],
                weight=rng.choice((1, 1, 1, 2, 3)),
                needs_experience=rng.random() < 0.05,
            )
            for place in range(size)
        )
        lines.append(_Line(rank, instrument, borrowed, parts, row))
    return lines


class _Cast:
    """Makes the members line by line; every choice comes from the one seeded generator."""

    def __init__(self, rng: random.Random, lines: list[_Line], segments: tuple[str, ...]) -> None:
        self.rng, self.lines, self.segments = rng, lines, segments
        self.members: list[Member] = []

    def holder(self, line: _Line, spot: Spot) -> None:
        more = [p for p in line.parts if p != spot.part and self.rng.random() < 0.3]
        experienced = self.rng.random() < 0.6
        made = self._member(line, [spot.part, *more])
        self.members.append(replace(made, holds=spot.key, experienced=experienced))

    def alternate(self, line: _Line, part: str, standing: int, carried: bool) -> None:
        more = [p for p in line.parts if p != part and self.rng.random() < 0.7]
        must_travel = carried and self.rng.random() < 0.3
        experienced = self.rng.random() < 0.3
        made = replace(
            self._member(line, [part, *more]),
            standing=standing,
            standing_part=part,
            must_travel=must_travel,
            experienced=experienced,
        )
        self.members.append(made)

    def _member(self, line: _Line, parts: list[str]) -> Member:
        rng = self.rng
        skills = {part: rng.random() >= line.borrowed for part in parts}
        if rng.random() < DOUBLES:
            other = rng.choice(self.lines)
            skills.setdefault(rng.choice(other.parts), rng.random() >= other.borrowed)
        return Member(
            key=f"m{len(self.members) + 1:05d}",
            skills=tuple(Skill(part, own) for part, own in sorted(skills.items())),
            rank=line.rank,
            away=self._away(),
            marched_percent=rng.randint(0, 100),
        )

    def _away(self) -> frozenset[str]:
        if self.rng.random() < AWAY + DOUBTFUL_OUT:
            return frozenset(self.segments)
        if len(self.segments) > 1 and self.rng.random() < 0.02:
            return frozenset({self.rng.choice(self.segments)})
        return frozenset()


def _members(
    rng: random.Random,
    lines: list[_Line],
    segments: tuple[str, ...],
    carried: bool,
    alternates: tuple[int, ...],
) -> tuple[Member, ...]:
    cast = _Cast(rng, lines, segments)
    for line in lines:
        for spot in line.spots:
            cast.holder(line, spot)
        standings: Counter[str] = Counter()
        for _ in range(rng.choice(alternates)):
            part = rng.choice(line.parts)
            standings[part] += 1
            cast.alternate(line, part, standings[part], carried)
    return tuple(cast.members)


def _lessons(
    rng: random.Random, lines: list[_Line], members: tuple[Member, ...]
) -> tuple[tuple[str, str, int], ...]:
    """What each member would have to learn: less on a spot of their own rank."""
    by_part: dict[str, list[Spot]] = defaultdict(list)
    for line in lines:
        for spot in line.spots:
            by_part[spot.part].append(spot)
    rows = []
    for member in members:
        spots = [s for skill in member.skills for s in by_part[skill.part] if s.key != member.holds]
        for spot in rng.sample(spots, min(MOST_LESSONS, len(spots))):
            low, high = (10, 120) if spot.rank == member.rank else (80, 255)
            rows.append((member.key, spot.key, rng.randint(low, high)))
    return tuple(rows)


def _backups(
    rng: random.Random, lines: list[_Line], members: tuple[Member, ...]
) -> tuple[Backup, ...]:
    rows = []
    for line in lines:
        alternates = [m for m in members if m.rank == line.rank and m.standing is not None]
        for member in alternates:
            parts = {skill.part for skill in member.skills}
            spots = [spot for spot in line.spots if spot.part in parts]
            for spot in rng.sample(spots, min(3, len(spots))):
                rows.append(Backup(spot.key, member.key, rng.choice((1, 1, 2))))
    return tuple(rows)


def _blocks(rng: random.Random, members: tuple[Member, ...]) -> tuple[Block, ...]:
    alternates = [m for m in members if m.holds is None]
    chosen = rng.sample(alternates, max(1, len(alternates) // 12))
    return tuple(Block(m.key) for m in chosen)


def _borrowers(problem: LineupProblem, segment: str) -> tuple[Counter[str], Counter[str]]:
    """By kind: who takes a school instrument with all present holders at home; holes left then."""
    kinds = {part.key: part.instrument for part in problem.parts}
    parts = {spot.key: spot.part for spot in problem.spots}
    used: Counter[str] = Counter()
    absent: Counter[str] = Counter()
    for member in problem.members:
        if member.holds is None:
            continue
        part = parts[member.holds]
        if segment in member.away:
            absent[kinds[part]] += 1
        elif any(s.part == part and not s.own_instrument for s in member.skills):
            used[kinds[part]] += 1
    return used, absent


def _with_side_rules(
    rng: random.Random, problem: LineupProblem, lines: list[_Line]
) -> LineupProblem:
    """Stock for half of the empty spots, travel for two thirds, leaders, and a pin or two."""
    used, absent = _borrowers(problem, problem.segments[0].key)
    held = {m.holds: m for m in problem.members if m.holds}
    here = [m for m in problem.members if not m.away]
    stock = tuple((kind, used[kind] + (absent[kind] + 1) // 2) for kind in sorted(used))
    ranks = tuple(
        Rank(line.rank, tuple(held[s.key].key for s in rng.sample(line.spots, 2))) for line in lines
    )
    carried = sum(m.must_travel for m in problem.members)
    empty = sum(absent.values())
    present_holders = sum(m.holds is not None for m in here)
    limit = present_holders + carried + max(0, 2 * empty // 3 - carried // 2)
    return replace(
        problem, ranks=ranks, stock=stock, travel_limit=limit, pins=_pins(rng, problem, held)
    )


def _pins(rng: random.Random, problem: LineupProblem, held: dict[str, Member]) -> tuple[Pin, ...]:
    """One experienced alternate with an instrument of their own on an empty spot of their rank."""
    blocked = {block.member for block in problem.blocks}
    pairs = [
        Pin(problem.segments[0].key, spot.key, member.key)
        for member in problem.members
        if member.holds is None and not member.away and member.key not in blocked
        for spot in problem.spots
        if spot.rank == member.rank
        and held[spot.key].away
        and (member.experienced or not spot.needs_experience)
        and Skill(spot.part, own_instrument=True) in member.skills
    ]
    return (rng.choice(pairs),) if pairs else ()


def band(
    spots: int,
    *,
    seed: int = 1,
    side_rules: bool = True,
    segments: tuple[str, ...] = ("halftime",),
    first_line: int = 0,
    alternates: tuple[int, ...] = (2, 2, 3),
) -> LineupProblem:
    """A band of ``spots`` spots (a multiple of 12, 13, 14 or 15) with absences and alternates.

    Without side rules nothing but the arcs restricts who marches, so it is a pure matching.
    ``first_line`` says where in ``LINES`` the first rank starts, ``alternates`` how many a rank
    may have.
    """
    rng = random.Random(f"{spots}|{seed}")
    lines = _lines(rng, spots, first_line)
    all_spots = tuple(spot for line in lines for spot in line.spots)
    members = _members(rng, lines, segments, side_rules, alternates)
    parts = sorted({Part(p, line.instrument) for line in lines for p in line.parts})
    keys = tuple(spot.key for spot in all_spots)
    problem = LineupProblem(
        members=members,
        spots=all_spots,
        segments=tuple(Segment(key, keys) for key in segments),
        parts=tuple(parts),
        ranks=tuple(Rank(line.rank) for line in lines),
        reference=tuple(
            ((key, m.holds), m.key) for key in segments for m in members if m.holds is not None
        ),
        blocks=_blocks(rng, members),
        backups=_backups(rng, lines, members),
        relearning=Lessons.of(_lessons(rng, lines, members)),
    )
    return _with_side_rules(rng, problem, lines) if side_rules else problem


def small_band(
    seed: int, *, side_rules: bool = True, segments: tuple[str, ...] = ("halftime",)
) -> LineupProblem:
    """A band of 24-45 spots, two or three ranks, for the reference solvers."""
    sizes = (24, 26, 28, 30, 36, 39, 42, 45)
    return band(
        sizes[seed % len(sizes)],
        seed=seed,
        side_rules=side_rules,
        segments=segments,
        first_line=3 * seed,
    )
