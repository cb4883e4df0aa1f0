"""Fundamentals: named basic movements as data, and what they come to when they are done."""

from drill.fundamentals.core.definition import (
    BadDefinition,
    Foot,
    Fundamental,
    definition_of,
    load,
    read,
)
from drill.fundamentals.core.engine import (
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
