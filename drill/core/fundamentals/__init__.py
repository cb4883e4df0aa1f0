"""Fundamentals: named basic movements as data, and what they come to when they are done."""

from drill.core.fundamentals.definition import (
    BadDefinition,
    Foot,
    Fundamental,
    definition_of,
    load,
    read,
)
from drill.core.fundamentals.engine import (
    FRONT,
    STEP,
    Footprint,
    Move,
    Run,
    mirrored,
    reversed_moves,
    run,
)

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
