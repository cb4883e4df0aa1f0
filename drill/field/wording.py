"""Sentences about coordinates."""

from __future__ import annotations

from drill.field.core.field import UNITS_PER_INCH, UNITS_PER_STEP, FieldType
from drill.field.core.spoken import USUAL, Style, rounded_marks, steps_words
from drill.field.enums import FieldType as FieldChoice

SMALLEST_NAMED_STEP = 32
"""to five yards; nobody counts smaller ones that way"""


def load_words(
    new: int, total: int, largest: float | None, label: str, style: Style = USUAL
) -> str:
    """'18 of 30 sets new, farthest 9 steps at set 17', 'knows all 30 sets'."""
    if not new:
        return f"knows all {total} sets"
    return f"{new} of {total} sets new{farthest_words(largest, label, style)}"


def farthest_words(largest: float | None, label: str, style: Style = USUAL) -> str:
    """', farthest 9 steps at set 17'; nothing where no distance is known."""
    return "" if largest is None else f", farthest {steps_text(largest, style)} at set {label}"


def steps_text(distance: float, style: Style = USUAL) -> str:
    """A distance (1/32 inch) as finely as coordinates are written: '2.5 steps', '3 1/16 steps'."""
    written = steps_words(distance, style)
    one = written != "0" and distance < UNITS_PER_STEP + style.grain / 2
    return f"{written} {'step' if one else 'steps'}"


def style_sentence(style: Style, kind: FieldType) -> str:
    """What a reader must know of how coordinates are written; nothing where it is the usual way."""
    sentences = []
    if style.from_field:
        sentences.append("Side 1 is on the left of a marcher facing the press box.")
        sentences.append("Pictures are drawn the same way, with the front at the top.")
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
    """How far a written coordinate is off, in inches: '0.3 inches across, 0.6 inches in depth'."""
    inches = [
        f"{abs(off) / UNITS_PER_INCH:.1f} inches {way}"
        for off, way in ((dx, "across"), (dy, "in depth"))
        if off
    ]
    return ", ".join(inches) or "exact"


def rounding_sentence(dx: int, dy: int) -> str:
    """How far the words for a coordinate are from it; empty where they are exact."""
    return f"Rounded by {error_words(dx, dy)}." if dx or dy else ""
