"""The field and where a spot stands on it.

Frame: x from the 50-yard line, positive to the right as the press box sees it; y from the front
sideline, positive away from the press box. Stored as whole 1/32 inches: one 8-to-5 step of 22.5
inches is 720 units, and every published hash distance is exact.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

UNITS_PER_INCH = 32
UNITS_PER_STEP = 720
UNITS_PER_YARD = 36 * UNITS_PER_INCH
FIELD_WIDTH = 160 * 12 * UNITS_PER_INCH
"""sideline to sideline, 160 ft"""
GOAL_LINE = 50 * UNITS_PER_YARD
END_LINE = 60 * UNITS_PER_YARD


@dataclass(frozen=True, slots=True)
class FieldType:
    """A field by what it is: where its hashes stand, in units from the front sideline."""

    name: str
    front_hash: int
    back_hash: int


# Distances: NCAA Rule 1-2-1 (60 ft), NFHS Rule 1-2-3 (53 ft 4 in), NFL Rule 1 (70 ft 9 in).
_HASHES = {"60 ft": (60, 0), "53 ft 4 in": (53, 4), "70 ft 9 in": (70, 9)}
FIELD_TYPES = {
    name: FieldType(name, depth, FIELD_WIDTH - depth)
    for name, depth in (
        (name, (feet * 12 + inches) * UNITS_PER_INCH) for name, (feet, inches) in _HASHES.items()
    )
}


def steps(units: int) -> Fraction:
    """8-to-5 steps, exactly."""
    return Fraction(units, UNITS_PER_STEP)


def units(step_count: Fraction | float | str) -> int:
    """The nearest whole number of units."""
    return round(Fraction(step_count) * UNITS_PER_STEP)
