"""Moves as people say them: "forward 8, left flank, fwd 8", "12 back", "toward side 1 8"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from itertools import pairwise

from drill.fundamentals.core.definition import Fundamental
from drill.fundamentals.core.walked import Move
from drill.fundamentals.core.word_tokens import (
    FIVE_YARDS,
    HEADINGS,
    NotUnderstood,
    Phrase,
    Said,
    Token,
    names_of,
    tokens,
)

__all__ = ["HEADINGS", "NotUnderstood", "heading_name", "read_words", "written", "written_name"]

MOST_MOVES = 40

_FACING = re.compile(
    r"^(?:facing|face) +(?:the +)?(back|front|side [12])(?: +(?:field|sideline))?\b"
)
_SIDE = re.compile(r"\bside[ -]?([12])\b")
_SEPARATORS = re.compile(r"[,;:/+&.()\n]+|\bthen\b|\band\b")
_STEP_SIZE = re.compile(r"(?:\bat )?(?<![\w.])(\d+(?:\.\d+)?) *(?:-| )to(?:-| ) *5\b")
_FACE = Fundamental(code="face", name="facing", counts=0)


@dataclass(frozen=True)
class _Asked:
    """What a part of the text asks for, before its counts are known to be right."""

    said: Said
    counts: int | None = None
    step: float | None = None


def read_words(text: str, fundamentals: Mapping[str, Fundamental]) -> tuple[Move, ...]:
    """The moves that the text says.

    Counts stand after the name or before it; a turn that takes no counts, with counts, goes on
    forward for them. "at 6 to 5" after a move is the size of its steps.

    Raises:
        NotUnderstood: with the word that is not understood, or what is missing.
    """
    rest = _SIDE.sub(r"side \1", text.strip().lower().replace("–", "-").replace("—", "-"))
    rest = _STEP_SIZE.sub(r" @\1 ", rest)
    names = names_of(fundamentals)
    moves: list[Move] = []
    for part in _SEPARATORS.split(_keep_decimals(rest)):
        _read_part(part.strip(), names, fundamentals, moves)
    if not any(move.heading is None for move in moves):
        raise NotUnderstood("No move in it: write something like “forward 8, left flank”.")
    if len(moves) > MOST_MOVES:
        raise NotUnderstood(f"That is more than {MOST_MOVES} moves for one set.")
    return tuple(moves)


def _read_part(
    part: str,
    names: Mapping[Phrase, Said],
    fundamentals: Mapping[str, Fundamental],
    moves: list[Move],
) -> None:
    """Add what stands between two separators to the moves before it."""
    facing = _FACING.match(part)
    if facing:
        moves.append(Move(_FACE, 0, heading=HEADINGS[facing.group(1)]))
        part = part[facing.end() :]
    found = list(tokens(part.replace("-", " ").split(), names))
    if moves and moves[-1].heading is None and found and found[0].step is not None:
        moves[-1] = replace(moves[-1], step=found.pop(0).step)
    _refuse_lone_sides(found)
    for asked in _asked(found):
        moves.extend(_move(asked, fundamentals))


def written(moves: Iterable[Move]) -> str:
    """The moves in words that ``read_words`` reads to the same."""
    return ", ".join(_written(move) for move in moves)


def heading_name(degrees: float) -> str | None:
    """What the field's side of a heading is called; None between two."""
    return next((name for name, angle in HEADINGS.items() if angle == degrees), None)


def _written(move: Move) -> str:
    if move.heading is not None:
        return f"facing {heading_name(move.heading)}"
    text = _name(move)
    if move.step is None:
        return text
    return f"{text} at {FIVE_YARDS / move.step:.6g} to 5"


def _name(move: Move) -> str:
    it = move.fundamental
    if move.along is not None:
        return f"toward {heading_name(move.along)} {move.counts}"
    said = written_name(it)
    return f"{said} {move.counts}" if it.any_counts else said


def written_name(it: Fundamental) -> str:
    """The name of a fundamental as ``written`` says it."""
    return it.also[0] if it.also and it.any_counts and it.counts is None else it.name


def _keep_decimals(text: str) -> str:
    """Dots between digits are no ends of sentences."""
    return re.sub(r"(?<=\d)\.(?=\d)", "·", text)


def _refuse_lone_sides(found: list[Token]) -> None:
    """ "“Pinwheel right 4” is no pinwheel and then four to the right."""
    for one, other in pairwise(found):
        if one.named and other.named and (one.named.side or other.named.side):
            raise NotUnderstood(
                f"Put a comma between “{one.named.it.name}” and “{other.named.it.name}”, or say "
                "the side in the name of the move."
            )


def _asked(found: list[Token]) -> list[_Asked]:
    """The moves of one part: all its counts stand before their names, or all after."""
    first = bool(found) and found[0].counts is not None
    asked: list[_Asked] = []
    waiting: int | None = None
    for token in found:
        if token.named is not None:
            asked.append(_Asked(token.named, waiting))
            waiting = None
        elif token.step is not None:
            if not asked:
                raise NotUnderstood("Put the step size after the move it goes with.")
            asked[-1] = replace(asked[-1], step=token.step)
        elif first and waiting is None:
            waiting = token.counts
        elif not first and asked and asked[-1].counts is None:
            asked[-1] = replace(asked[-1], counts=token.counts)
        else:
            raise NotUnderstood(f"It is not clear what the {token.counts} goes with.")
    if waiting is not None:
        raise NotUnderstood(f"It is not clear what the {waiting} goes with.")
    return asked


def _move(asked: _Asked, fundamentals: Mapping[str, Fundamental]) -> list[Move]:
    it, counts, step = asked.said.it, asked.counts, asked.step
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
    return [Move(it, counts or it.counts or 0, step, along=asked.said.along)]
