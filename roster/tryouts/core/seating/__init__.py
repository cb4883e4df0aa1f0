"""Seating: the selected into ranks and spots.

Hard: the part of the spot, one person a spot, people kept apart in different ranks, locks. As many
as possible are seated; then as few as possible move from where they were; then every rank has two
who may lead; then the weighed rest: see `problem.Weights`.
"""

from roster.tryouts.core.seating.problem import (
    Kept,
    Person,
    Place,
    Problem,
    Scores,
    Weights,
    broken,
    scores_of,
)
from roster.tryouts.core.seating.reasons import Why, why_here
from roster.tryouts.core.seating.solving import Limits, Seating, solve

__all__ = [
    "Kept",
    "Limits",
    "Person",
    "Place",
    "Problem",
    "Scores",
    "Seating",
    "Weights",
    "Why",
    "broken",
    "scores_of",
    "solve",
    "why_here",
]
