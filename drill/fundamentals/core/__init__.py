"""Fundamentals: named basic movements as data, and what they come to when they are done."""

from drill.fundamentals.core.definition import Foot, Fundamental
from drill.fundamentals.core.definition_reading import BadDefinition, definition_of, load, read
from drill.fundamentals.core.engine import FRONT, STEP, run
from drill.fundamentals.core.variants import mirrored, reversed_moves
from drill.fundamentals.core.walked import Footprint, Move, Run

__all__ = [
    "FRONT",
    "STEP",
    "BadDefinition",
    "Foot",
    "Footprint",
    "Fundamental",
    "Move",
    "Run",
    "definition_of",
    "load",
    "mirrored",
    "read",
    "reversed_moves",
    "run",
]
