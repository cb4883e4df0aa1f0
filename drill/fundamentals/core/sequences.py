"""Evaluation sequences: so many counts of chosen fundamentals, used equally, that come back.

A use of a fundamental is a block: its counts, or for a turn that takes none, the turn and the
counts forward after it. Whoever does a sequence begins with the left foot from standing, and ends
with the weight on the right one, on the spot where they began, and never leaves a square around
it. All groups use each fundamental the same number of times: equal in difficulty, which is the
sum of the fundamentals' weights over their uses.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from drill.fundamentals.core import STEP, Foot, Fundamental, Move, Run, run
from drill.fundamentals.core.walked import turned

LENGTHS = (4, 8, 6, 2)
"""counts of a block whose counts are free, those of a phrase of music first"""
TURNING = (4, 8)
FOLDS = (1, 1, 1, 2, 4)
"""in every few tries, a part that is done two or four times, turned by a half or a quarter: it
comes back even where single steps cannot cancel each other"""
TRIES = 200
NODES = 1000
"""blocks looked at in one try"""
CLOSE = 1e-6
Block = tuple[str, int]


class Lack(StrEnum):
    """Why there is no sequence."""

    ODD = "odd"
    NONE_CHOSEN = "none chosen"
    TOO_SHORT = "too short"
    NOT_FOUND = "not found"


class NoSequence(ValueError):
    """There is no sequence; ``needs`` is the fewest counts where there are too few."""

    def __init__(self, lack: Lack, needs: int = 0) -> None:
        super().__init__(lack.value)
        self.lack = lack
        self.needs = needs


@dataclass(frozen=True)
class EvaluationSequence:
    """One group's sequence: its blocks in order, and what they come to."""

    blocks: tuple[Block, ...]
    run: Run
    difficulty: int

    @property
    def uses(self) -> Counter[str]:
        """Code -> how often it is used."""
        return Counter(code for code, _ in self.blocks)


@dataclass(frozen=True)
class _Piece:
    """A block walked from facing 0, to be turned and put where it is needed."""

    code: str
    counts: int
    way: NDArray[np.complex128]
    turn: float
    is_turn: bool


@dataclass
class _Search:
    """One try: what is left to look at, and what is sought."""

    rounds: list[set[str]]
    pieces: Mapping[str, tuple[_Piece, ...]]
    counts: int
    half: float
    reach: float
    rng: np.random.Generator
    fold: int = 1
    nodes: int = NODES

    def is_over(self, at: complex, facing: float, number: int) -> bool:
        """All counts are used: does it come back?"""
        if self.fold == 1:
            return abs(at) < CLOSE
        comes_round = facing % 360 != 0 and facing * self.fold % 360 == 0
        return comes_round and number == 0


def make_sequences(
    chosen: Sequence[Fundamental],
    fundamentals: Mapping[str, Fundamental],
    *,
    counts: int,
    square: float,
    groups: int,
    seed: int,
) -> tuple[EvaluationSequence, ...]:
    """A different sequence for each group, of equal difficulty.

    ``square`` is its side in steps, the start spot in the middle; the same arguments make the
    same sequences. ``fundamentals`` must hold the forward march, which follows a turn.

    Raises:
        NoSequence: why there is none.
    """
    pieces = {it.code: tuple(_pieces(it, fundamentals)) for it in chosen}
    _refuse_impossible(pieces, counts)
    rng = np.random.default_rng(seed)
    found: list[EvaluationSequence] = []
    half = square / 2 * STEP + CLOSE
    for turn in range(TRIES):
        fold = FOLDS[turn % len(FOLDS)]
        if counts % fold:
            continue
        uses = found[0].uses if found and fold == 1 else None
        rounds = _rounds(list(pieces), counts, uses)
        search = _Search(rounds, pieces, counts // fold, half, _reach(pieces), rng, fold)
        for blocks in _walk(search, [], 0j, 0.0, 0):
            made = sequence_of(blocks * fold, fundamentals)
            if _is_good(made, found, half):
                found.append(made)
                break
        if len(found) == groups:
            return tuple(found)
    raise NoSequence(Lack.NOT_FOUND)


def _refuse_impossible(pieces: Mapping[str, tuple[_Piece, ...]], counts: int) -> None:
    if not pieces:
        raise NoSequence(Lack.NONE_CHOSEN)
    if counts % 2:
        raise NoSequence(Lack.ODD)
    least = sum(min(p.counts for p in some) for some in pieces.values())
    if least > counts:
        raise NoSequence(Lack.TOO_SHORT, least)


def sequence_of(
    blocks: Sequence[Block], fundamentals: Mapping[str, Fundamental]
) -> EvaluationSequence:
    """A sequence from its blocks; KeyError where a fundamental is gone."""
    done = run([m for block in blocks for m in block_moves(block, fundamentals)])
    difficulty = sum(fundamentals[code].difficulty for code, _ in blocks)
    return EvaluationSequence(tuple((c, n) for c, n in blocks), done, difficulty)


def block_moves(block: Block, fundamentals: Mapping[str, Fundamental]) -> tuple[Move, ...]:
    """The moves of a block: a turn that takes no counts goes on forward."""
    code, counts = block
    it = fundamentals[code]
    if it.is_turn:
        return (Move(it, 0), Move(fundamentals["forward"], counts))
    return (Move(it, counts),)


def _pieces(it: Fundamental, fundamentals: Mapping[str, Fundamental]) -> Iterator[_Piece]:
    lengths: tuple[int, ...] = LENGTHS if it.is_turn or it.any_counts else (it.counts or 1,)
    if it.any_counts and it.turn_from > 1:
        lengths = TURNING
    for counts in lengths:
        done = run(block_moves((it.code, counts), fundamentals))
        way = done.points[:, 0] + 1j * done.points[:, 1]
        yield _Piece(it.code, counts, way, done.facing, it.is_turn)


def _reach(pieces: Mapping[str, tuple[_Piece, ...]]) -> float:
    """The farthest that one count can go, inches."""
    return max(float(np.abs(np.diff(p.way)).max()) for some in pieces.values() for p in some)


def _rounds(codes: list[str], counts: int, uses: Counter[str] | None) -> list[set[str]]:
    """In each round every fundamental comes once: so they stay equal within one."""
    if uses is None:
        return [set(codes) for _ in range(counts)]
    return [{c for c in codes if uses[c] > turn} for turn in range(max(uses.values()))]


def _walk(
    search: _Search, blocks: list[Block], at: complex, facing: float, number: int
) -> Iterator[list[Block]]:
    """Ways to go on that use all counts and return, in a drawn order."""
    left = search.counts - sum(counts for _, counts in blocks)
    if left == 0:
        if search.is_over(at, facing, number):
            yield blocks
        return
    done = {code for code, _ in blocks[-number:]} if number else set()
    this, open_now = _open(search, len(blocks))
    for piece in _options(search, open_now, done, left, first=not blocks):
        search.nodes -= 1
        if search.nodes < 0:
            return
        way = at + turned(1 + 0j, facing) * piece.way
        end = complex(way[-1])
        if max(np.abs(way.real).max(), np.abs(way.imag).max()) > search.half:
            continue
        too_far = abs(end) > (left - piece.counts) * search.reach + CLOSE
        if too_far and search.fold == 1:
            continue
        after = number + 1 if number + 1 < this else 0
        block = (piece.code, piece.counts)
        yield from _walk(search, [*blocks, block], end, facing + piece.turn, after)


def _open(search: _Search, made: int) -> tuple[int, set[str]]:
    """How many blocks the round of the next block has, and of which fundamentals."""
    for codes in search.rounds:
        if made < len(codes):
            return len(codes), codes
        made -= len(codes)
    return 0, set()


def _options(
    search: _Search, codes: set[str], done: set[str], left: int, *, first: bool
) -> list[_Piece]:
    """What may come next, drawn: phrases of 4 and 8 mostly before 2 and 6."""
    some = [p for code in sorted(codes - done) for p in search.pieces[code] if p.counts <= left]
    if first and any(not p.is_turn for p in some):
        some = [p for p in some if not p.is_turn]
    lots = search.rng.random(len(some))
    late = [LENGTHS.index(p.counts) >= 2 if p.counts in LENGTHS else False for p in some]
    order = sorted(range(len(some)), key=lambda i: lots[i] + 0.8 * late[i])
    return [some[i] for i in order]


def _is_good(made: EvaluationSequence, others: Sequence[EvaluationSequence], half: float) -> bool:
    done = made.run
    if float(np.abs(done.points).max()) > half:
        return False
    ends_right = done.next_foot is Foot.LEFT and not done.wrong_foot
    same = not others or made.uses == others[0].uses
    return ends_right and same and made.blocks not in {o.blocks for o in others}
