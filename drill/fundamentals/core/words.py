"""Moves as people say them: "forward 8, left flank, fwd 8", "12 back", "facing front"."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from drill.fundamentals.core.definition import MOST_COUNTS, Fundamental
from drill.fundamentals.core.engine import FRONT
from drill.fundamentals.core.walked import Move

HEADINGS = {"back": 0.0, "front": FRONT, "side 1": 90.0, "side 2": -90.0}
"""where somebody looks on the field: to the press box is the front"""
MOST_MOVES = 40
LARGEST_STEP = 60.0
FIVE_YARDS = 180.0

_FACING = re.compile(
    r"^(?:facing|face) +(?:the +)?(back|front|side ?[12])(?: +(?:field|sideline))?\b"
)
_SEPARATORS = re.compile(r"[,;:/+&.()\n]+|\bthen\b|\band\b")
_STEP_SIZE = re.compile(r"(?:\bat )?(?<![\w.])(\d+(?:\.\d+)?) *(?:-| )to(?:-| ) *5\b")
_FILLERS = {"count", "counts", "ct", "cts", "step", "steps", "for", "the", "a", "over", "x"}
_FACE = Fundamental(code="face", name="facing", counts=0)


class NotUnderstood(ValueError):
    """Words that say no move; the message names the word, for the person who typed it."""


@dataclass(frozen=True)
class _Token:
    """One of: a fundamental named, a number of counts, the step of the move before (inches)."""

    named: Fundamental | None = None
    counts: int | None = None
    step: float | None = None


def read_words(text: str, fundamentals: Mapping[str, Fundamental]) -> tuple[Move, ...]:
    """The moves that the text says.

    Counts stand after the name or before it; a turn that takes no counts, with counts, goes on
    forward for them. "at 6 to 5" after a move is the size of its steps.

    Raises:
        NotUnderstood: with the word that is not understood, or what is missing.
    """
    rest = text.strip().lower().replace("–", "-").replace("—", "-")
    moves: list[Move] = []
    facing = _FACING.match(rest)
    if facing:
        where = facing.group(1).replace("side", "side ").replace("  ", " ")
        moves.append(Move(_FACE, 0, heading=HEADINGS[where]))
        rest = rest[facing.end() :]
    names = _names(fundamentals)
    rest = _STEP_SIZE.sub(r" @\1 ", rest)
    for part in _SEPARATORS.split(_keep_decimals(rest)):
        tokens = list(_tokens(part.replace("-", " ").split(), names))
        if moves and moves[-1].heading is None and tokens and tokens[0].step is not None:
            moves[-1] = replace(moves[-1], step=tokens.pop(0).step)
        moves.extend(_moves(tokens, fundamentals))
    if not any(move.heading is None for move in moves):
        raise NotUnderstood("There is no move in it: write for example “forward 8, left flank”.")
    if len(moves) > MOST_MOVES:
        raise NotUnderstood(f"That is more than {MOST_MOVES} moves for one set.")
    return tuple(moves)


def written(moves: Iterable[Move]) -> str:
    """The moves in words that ``read_words`` reads to the same."""
    return ", ".join(_written(move) for move in moves)


def _written(move: Move) -> str:
    if move.heading is not None:
        return f"facing {next(k for k, v in HEADINGS.items() if v == move.heading)}"
    it = move.fundamental
    said = it.also[0] if it.also and it.any_counts and it.counts is None else it.name
    text = said if not it.any_counts else f"{said} {move.counts}"
    if move.step is None:
        return text
    return f"{text} at {FIVE_YARDS / move.step:.6g} to 5"


def _keep_decimals(text: str) -> str:
    """Dots between digits are no ends of sentences."""
    return re.sub(r"(?<=\d)\.(?=\d)", "·", text)


def _names(fundamentals: Mapping[str, Fundamental]) -> dict[tuple[str, ...], Fundamental]:
    """Every way to say a fundamental, as words; of two that say the same, the first."""
    found: dict[tuple[str, ...], Fundamental] = {}
    for it in fundamentals.values():
        for said in (it.name, it.code, *it.also):
            found.setdefault(tuple(said.lower().replace("-", " ").split()), it)
    return found


def _tokens(words: list[str], names: Mapping[tuple[str, ...], Fundamental]) -> Iterator[_Token]:
    longest = max((len(name) for name in names), default=0)
    at = 0
    while at < len(words):
        word = words[at]
        if word.startswith("@"):
            yield _Token(step=_step(word[1:]))
            at += 1
            continue
        if word[0].isdecimal():
            yield _Token(counts=_counts(word))
            at += 1
            continue
        length = next((n for n in range(longest, 0, -1) if tuple(words[at : at + n]) in names), 0)
        if length:
            yield _Token(named=names[tuple(words[at : at + length])])
        elif word not in _FILLERS:
            raise NotUnderstood(_unknown(word, names))
        at += length or 1


def _unknown(word: str, names: Mapping[tuple[str, ...], Fundamental]) -> str:
    known = sorted({" ".join(name) for name in names})
    near = difflib.get_close_matches(word, known, n=1)
    hint = f" Did you mean “{near[0]}”?" if near else ""
    return f"“{word}” is not understood.{hint}"


def _counts(word: str) -> int:
    if not word.isdigit() or not word.isascii():
        raise NotUnderstood(f"“{word.replace('·', '.')}” is no whole number of counts.")
    number = int(word) if len(word) < 6 else MOST_COUNTS + 1
    if number == 0 or number > MOST_COUNTS:
        raise NotUnderstood(f"Counts go from 1 to {MOST_COUNTS}, not “{word}”.")
    return number


def _step(number: str) -> float:
    ratio = float(number.replace("·", "."))
    if not ratio or FIVE_YARDS / ratio > LARGEST_STEP:
        raise NotUnderstood(f"Nobody steps {number} to 5 yards.")
    return FIVE_YARDS / ratio


def _moves(tokens: list[_Token], fundamentals: Mapping[str, Fundamental]) -> list[Move]:
    """The moves of one part: all its counts stand before their names, or all after."""
    first = bool(tokens) and tokens[0].counts is not None
    found: list[tuple[Fundamental, int | None, float | None]] = []
    waiting: int | None = None
    for token in tokens:
        if token.named is not None:
            found.append((token.named, waiting, None))
            waiting = None
        elif token.step is not None:
            if not found:
                raise NotUnderstood("Say the size of steps after the move that has it.")
            found[-1] = (found[-1][0], found[-1][1], token.step)
        elif first and waiting is None:
            waiting = token.counts
        elif not first and found and found[-1][1] is None:
            found[-1] = (found[-1][0], token.counts, found[-1][2])
        else:
            raise NotUnderstood(f"It is not clear what the {token.counts} belongs to.")
    if waiting is not None:
        raise NotUnderstood(f"It is not clear what the {waiting} belongs to.")
    return [m for it in found for m in _move(*it, fundamentals)]


def _move(
    it: Fundamental,
    counts: int | None,
    step: float | None,
    fundamentals: Mapping[str, Fundamental],
) -> list[Move]:
    if it.is_turn:
        turn = Move(it, 0)
        if counts is None:
            return [turn]
        forward = fundamentals.get("forward")
        if forward is None:
            raise NotUnderstood(f"“{it.name}” takes no counts.")
        return [turn, Move(forward, counts, step)]
    if counts is None and it.counts is None:
        raise NotUnderstood(f"Say for how many counts: “{it.name}” takes as many as you write.")
    if counts is not None and not it.any_counts and counts != it.counts:
        raise NotUnderstood(f"“{it.name}” takes {it.counts} counts, not {counts}.")
    return [Move(it, counts or it.counts or 0, step)]
