"""Sentences about coordinates, ways and what is new to a member."""

from __future__ import annotations

from collections.abc import Mapping

from drill.core.field import UNITS_PER_INCH, UNITS_PER_STEP, FieldType
from drill.core.fills import Asked
from drill.core.motion import Way
from drill.core.moves import to_5
from drill.core.relearn import NewSet
from drill.core.spoken import USUAL, Style, rounded_marks, steps_words
from drill.enums import FieldType as FieldChoice

SMALLEST_NAMED_STEP = 32
"""to five yards; nobody counts smaller ones that way"""


def asked_words(asked: Asked, style: Style = USUAL) -> str:
    """'ready, 15 of 24 sets to learn, largest 9 steps at set 17', 'ready, knows all 24 sets'."""
    if not asked.total:
        return "ready"
    if not asked.new:
        return f"ready, knows all {asked.total} sets"
    words = f"ready, {asked.new} of {asked.total} sets to learn"
    far = asked.farthest
    return words + (farthest_words(far.largest, far.largest_set, style) if far else "")


def load_words(
    new: int, total: int, largest: float | None, label: str, style: Style = USUAL
) -> str:
    """'18 of 30 sets new, largest 9 steps at set 17', 'knows all 30 sets'."""
    if not new:
        return f"knows all {total} sets"
    return f"{new} of {total} sets new{farthest_words(largest, label, style)}"


def new_set_words(one: NewSet, fundamentals: Mapping[str, str], style: Style = USUAL) -> str:
    """What makes a set hard: '9 steps from 4-6, the opposite way'. ``fundamentals``: code ->
    name."""
    far = "no known place"
    if one.distance is not None:
        far = f"{steps_text(one.distance, style)} from {one.nearest}"
    missing = ", ".join(fundamentals.get(code, code) for code in one.lacking)
    lacking = f"not passed yet: {missing}" if missing else ""
    return ", ".join(filter(None, (far, "the opposite way" if one.opposite else "", lacking)))


def farthest_words(largest: float | None, label: str, style: Style = USUAL) -> str:
    """', largest 9 steps at set 17'; nothing where no distance is known."""
    return "" if largest is None else f", largest {steps_text(largest, style)} at set {label}"


def way_text(way: Way, style: Style = USUAL) -> str:
    """'6 steps in 8 counts, 10.7-to-5', 'stands still'."""
    if not way.distance:
        return "stands still"
    text = f"{steps_text(way.distance, style)} in {way.counts} counts"
    if not way.step or to_5(way.step) > SMALLEST_NAMED_STEP:
        return text
    return f"{text}, {to_5(way.step):.1f}-to-5"


def steps_text(distance: float, style: Style = USUAL) -> str:
    """A distance (1/32 inch) as finely as places are written: '2.5 steps', '3 1/16 steps'."""
    written = steps_words(distance, style)
    one = written != "0" and distance < UNITS_PER_STEP + style.grain / 2
    return f"{written} {'step' if one else 'steps'}"


def style_sentence(style: Style, kind: FieldType) -> str:
    """What a reader must know of how places are written; nothing where it is the usual way."""
    sentences = []
    if style.from_field:
        sentences.append("Side 1 is the left of a marcher who faces the press box.")
        sentences.append("Pictures are seen the same way, with the front at the top.")
    if style.rounded:
        _, front, back, depth = rounded_marks(kind)
        sentences.append(
            f"Depth is rounded: {depth} steps, the front hash at {front}, the back hash at {back}."
        )
    return " ".join(sentences)


def field_label(name: str) -> str:
    """A field as people read it: the published ones by their hashes, the band's own by name."""
    return FieldChoice(name).label if name in FieldChoice.values else name


def error_words(dx: int, dy: int) -> str:
    """How far a written place is off, in inches: '0.3 inches across, 0.6 inches in depth'."""
    inches = [
        f"{abs(off) / UNITS_PER_INCH:.1f} inches {way}"
        for off, way in ((dx, "across"), (dy, "in depth"))
        if off
    ]
    return ", ".join(inches) or "exact"


def rounding_sentence(dx: int, dy: int) -> str:
    """How far the words for a place are from it; empty where they are exact."""
    return f"The words are off by {error_words(dx, dy)}." if dx or dy else ""
