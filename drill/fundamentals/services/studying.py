"""What a study sheet and a sequence's page show: pictures and counts made by the engine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from drill.fundamentals.core import STEP, Fundamental, Move, run
from drill.fundamentals.core.sequences import block_moves
from drill.fundamentals.footprints.counts import Row, rows, shown_counts
from drill.fundamentals.footprints.drawing import Drawing
from drill.fundamentals.footprints.feet import footprints
from drill.fundamentals.footprints.way import way
from drill.fundamentals.models import EvaluationSequence
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.fundamentals.services.sequences import groups_of
from roster.people.models import Season

TURN_COUNTS = 2
"""counts forward drawn before and after a turn that takes none"""


@dataclass(frozen=True)
class Study:
    """A fundamental with its footprints and its counts in numbers."""

    of: Fundamental
    drawing: Drawing
    rows: tuple[Row, ...]
    around: int
    """counts forward before and after a turn between two counts"""


@dataclass(frozen=True)
class Part:
    """A block of a sequence: its counts of the whole, and where it ends (steps)."""

    name: str
    first: int
    last: int
    across: float
    forward: float


@dataclass(frozen=True)
class Group:
    """One group's sequence."""

    number: int
    drawing: Drawing
    parts: tuple[Part, ...]
    difficulty: int
    uses: tuple[tuple[str, int, int], ...]
    """fundamental, how often, its weight"""


def studies(season: Season, codes: Sequence[str] | None = None) -> list[Study]:
    """The chosen fundamentals in their usual order; all of them where none is chosen."""
    known = fundamentals_of(season)
    return [study(it, known) for it in known.values() if not codes or it.code in codes]


def study(it: Fundamental, known: dict[str, Fundamental]) -> Study:
    """One fundamental drawn; a turn between two counts stands between some forward ones."""
    counts = shown_counts(it)
    around = TURN_COUNTS if it.is_turn and "forward" in known else 0
    moves = [Move(it, counts)]
    if around:
        forward = Move(known["forward"], around)
        moves = [forward, *moves, forward]
    done = run(moves)
    drawing = footprints(done, f"Footprints of {it.name}", it.stance)
    return Study(it, drawing, tuple(rows(done)), around)


def groups_shown(row: EvaluationSequence) -> list[Group]:
    """Each group's sequence as its page and print show it."""
    known = fundamentals_of(row.season)
    found = []
    for number, one in enumerate(groups_of(row), 1):
        parts, last = [], 0
        for block in one.blocks:
            first, last = last + 1, last + sum(m.counts for m in block_moves(block, known))
            x, y = one.run.points[last] / STEP
            name = known[block[0]].name
            parts.append(
                Part(name, first, last, round(float(x), 2) + 0.0, round(float(y), 2) + 0.0)
            )
        title = f"{row.label}, group {number}: the way in its square"
        drawing = way(one.run, title, row.square, [part.last for part in parts])
        uses = tuple(
            (known[code].name, one.uses[code], known[code].difficulty) for code in row.codes
        )
        found.append(Group(number, drawing, tuple(parts), one.difficulty, uses))
    return found
