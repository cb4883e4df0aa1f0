"""Sentences about fundamentals, words against coordinates and their corrections."""

from __future__ import annotations

from collections.abc import Mapping

from drill.field.core.field import UNITS_PER_INCH
from drill.field.core.spoken import USUAL, Style, steps_words
from drill.fundamentals.core import STEP, Fundamental, Move
from drill.fundamentals.core.against import Comparison
from drill.fundamentals.core.corrections import Change, Correction
from drill.fundamentals.core.words import heading_name

LEAST = 0.05
"""inches that nobody speaks of"""


def turn_text(degrees: float) -> str:
    """An angle in words: '90° left', '45° right', '' for none."""
    if not degrees:
        return ""
    return f"{abs(degrees):.4g}° {'left' if degrees > 0 else 'right'}"


def counts_text(it: Fundamental) -> str:
    """How many counts a fundamental takes."""
    if it.counts is None:
        return "as said"
    if it.is_turn:
        return "none"
    return f"{it.counts}, or as said" if it.any_counts else str(it.counts)


def length_text(inches: float, style: Style = USUAL) -> str:
    """'2.25 steps (50.6 in)', in sixteenths '2 1/4 steps (50.6 in)'."""
    steps = f"{abs(inches) / STEP:.2f}".rstrip("0").rstrip(".")
    if style.sixteenths:
        steps = steps_words(inches * UNITS_PER_INCH, style)
    return f"{steps} step{'' if steps == '1' else 's'} ({abs(inches):.1f} in)"


def difference_text(it: Comparison, style: Style = USUAL) -> str:
    """Where the coordinate is, seen from where the words end."""
    if it.as_drawn:
        return "The words leave part of the move to the picture, so it ends at the coordinate."
    parts = []
    if abs(it.across) >= LEAST:
        right = (it.across > 0) is not style.from_field
        parts.append(f"{length_text(it.across, style)} to {'side 2' if right else 'side 1'}")
    if abs(it.depth) >= LEAST:
        parts.append(
            f"{length_text(it.depth, style)} {'further back' if it.depth > 0 else 'further front'}"
        )
    if not parts:
        return "The words end right on the coordinate."
    return f"From where the words end, the coordinate is {' and '.join(parts)}."


def counts_off_text(it: Comparison) -> str:
    """Counts that do not add up; empty where they do."""
    if not it.counts_off:
        return ""
    off = abs(it.counts_off)
    more = "more" if it.counts_off > 0 else "fewer"
    return f"{off} count{'' if off == 1 else 's'} {more} than the set has."


def correction_text(
    it: Correction, fundamentals: Mapping[str, Fundamental], style: Style = USUAL
) -> str:
    """The change and what it leaves."""
    rest = "" if it.is_right else f", still {length_text(it.left, style)} off"
    if it.counts_off:
        rest += f", {abs(it.counts_off)} counts too {'many' if it.counts_off > 0 else 'few'}"
    return f"{_change(it, fundamentals)}{rest}."


def _change(it: Correction, fundamentals: Mapping[str, Fundamental]) -> str:
    which = ""
    if it.index is not None:
        move = it.moves[it.index]
        which = f"move {_number(it)}, {_named(move)}"
    if it.kind is Change.COUNTS:
        return f"{which}: {it.after} counts instead of {it.before}"
    if it.kind is Change.MOVE:
        name = fundamentals[str(it.before)].name
        return f"move {_number(it)}: {fundamentals[str(it.after)].name} instead of {name}"
    if it.kind is Change.TOWARD:
        return f"move {_number(it)}: toward {_looking(it.after)} instead of {_looking(it.before)}"
    if it.kind is Change.WAIT:
        return f"mark time {it.after} at the end"
    if it.kind is Change.FACING:
        return f"facing {_looking(it.after)} instead of {_looking(it.before)}"
    size = _size(float(it.after))
    if it.kind is Change.EVERY_STEP:
        return f"every step {size}"
    return f"{which}: steps of {size}"


def _number(it: Correction) -> int:
    """Which move it is as typed; where somebody looks at the start is none."""
    return sum(1 for move in it.moves[: (it.index or 0) + 1] if move.heading is None)


def _named(move: Move) -> str:
    if move.along is not None:
        return f"toward {_looking(move.along)}"
    return move.fundamental.name


def _looking(degrees: float | str) -> str:
    return heading_name(float(degrees)) or f"{float(degrees):g}°"


def _size(inches: float) -> str:
    return f"{inches:.4g} in ({180 / inches:.3g}-to-5)"
