"""Reading and writing the definition of a fundamental, and what is wrong with one."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Mapping
from enum import StrEnum
from typing import Any

from drill.fundamentals.core.definition import (
    LARGEST,
    MOST_COUNTS,
    Counting,
    Direction,
    Foot,
    Fundamental,
    Measured,
    Pivot,
    Position,
    Vector,
)


class BadDefinition(ValueError):
    """A definition that cannot be marched; the message is for the person who wrote it."""


def load(definitions: Iterable[Mapping[str, Any]]) -> dict[str, Fundamental]:
    """Code -> fundamental, in the order given.

    Raises:
        BadDefinition: with the name of the fundamental and what is wrong with it.
    """
    found: dict[str, Fundamental] = {}
    for definition in definitions:
        it = read(definition)
        if it.code in found:
            raise BadDefinition(f"{it.name}: the code “{it.code}” is there twice.")
        found[it.code] = it
    return found


def read(definition: Mapping[str, Any]) -> Fundamental:
    """One fundamental from plain data; what is not said is as usual.

    Raises:
        BadDefinition: what is missing, unknown or impossible.
    """
    label = str(definition.get("name") or definition.get("code") or "a fundamental")
    known = {f.name for f in dataclasses.fields(Fundamental)}
    unknown = sorted(set(definition) - known)
    if unknown:
        raise BadDefinition(f"{label}: “{unknown[0]}” is not part of a fundamental.")
    try:
        it = Fundamental(**{k: _READERS.get(k, _as_is)(v) for k, v in definition.items()})
    except (TypeError, ValueError, OverflowError) as error:
        raise BadDefinition(f"{label}: {error}.") from error
    problem = _problem(it)
    if problem:
        raise BadDefinition(f"{label}: {problem}")
    return it


def definition_of(it: Fundamental) -> dict[str, Any]:
    """Plain data that ``read`` makes the same fundamental of; the usual is left out."""
    usual = {
        f.name: f.default
        for f in dataclasses.fields(Fundamental)
        if f.default is not dataclasses.MISSING
    }
    found = {}
    for name, value in dataclasses.asdict(it).items():
        if name not in usual or value != usual[name]:
            found[name] = _plain(value)
    return found


def _plain(value: Any) -> Any:
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value


def _problem(it: Fundamental) -> str | None:
    if not it.code or not it.name:
        return "it needs a name."
    if it.counts is None and not it.any_counts:
        return "say how many counts it takes."
    if it.counts is not None and not 0 <= it.counts <= MOST_COUNTS:
        return f"counts go from 0 to {MOST_COUNTS}."
    if not it.path:
        return "it needs at least one step, be it in place."
    if it.drawn and it.is_turn:
        return "what goes as drawn takes counts."
    return _path_problem(it) or _turn_problem(it)


def _path_problem(it: Fundamental) -> str | None:
    if any(v is not None and max(abs(v[0]), abs(v[1])) > LARGEST for v in it.path):
        return f"one count goes at most {LARGEST:g} steps each way."
    if not it.any_counts and it.counts and len(it.path) not in (1, it.counts):
        return f"{len(it.path)} steps do not fit {it.counts} counts."
    if it.stance < 0 or it.stance > 60:
        return "the feet are 0 to 60 inches apart."
    if not 1 <= it.difficulty <= 9:
        return "difficulty goes from 1 to 9."
    return None


def _turn_problem(it: Fundamental) -> str | None:
    if abs(it.turn) > 720:
        return "a turn is at most 720 degrees."
    if it.turn_after:
        if it.any_counts or len(it.turn_after) != it.counts:
            return "a turn listed count by count needs one angle a count."
        if it.turn_after[-1] != it.turn:
            return "the last angle listed is the whole turn."
    last = it.turn_to if it.turn_to is not None else it.counts
    if it.turn_from < 1 or (last and it.turn_from > last):
        return "the turn ends before it begins."
    if it.turn_to is not None and it.counts and it.turn_to > it.counts:
        return "the turn ends after the last count."
    return None


def _whole(value: Any) -> int:
    if isinstance(value, bool) or int(value) != float(value):
        raise ValueError(f"“{value}” is not a whole number")
    return int(value)


def _number(value: Any) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError) as error:
        raise ValueError(f"“{value}” is not a number") from error
    if isinstance(value, bool) or not -1000 < number < 1000:
        raise ValueError(f"“{value}” is not a number that can be marched")
    return number


def _vector(value: Any) -> Vector | None:
    if value is None:
        return None
    try:
        across, forward = value
    except (TypeError, ValueError) as error:
        raise ValueError("a step is two numbers, to the right and forward") from error
    return (_number(across), _number(forward))


def _texts(value: Any) -> tuple[str, ...]:
    return tuple(str(item) for item in value)


def _as_is(value: Any) -> Any:
    return value


_READERS: dict[str, Any] = {
    "also": _texts,
    "counts": lambda v: None if v is None else _whole(v),
    "path": lambda v: tuple(_vector(item) for item in v),
    "turn": _number,
    "turn_from": _whole,
    "turn_to": lambda v: None if v is None else _whole(v),
    "turn_after": lambda v: tuple(_number(item) for item in v),
    "counting": Counting,
    "direction": Direction,
    "pivot": Pivot,
    "stance": _number,
    "measured": Measured,
    "position": Position,
    "horns": _number,
    "feet": _number,
    "lead": lambda v: None if v is None else Foot(v),
    "difficulty": _whole,
}
