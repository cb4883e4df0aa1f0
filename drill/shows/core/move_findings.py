"""What the checks of a drill's moves may find."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import ClassVar

from drill.field.core.field import UNITS_PER_STEP
from drill.shows.core.moves import PathKind, Step


class Fault(StrEnum):
    """Kinds of findings."""

    REPEATED = "repeated"
    COUNTS = "counts"
    MISSING = "missing"
    CLOSE = "close"
    STEP = "step"
    EDGE = "edge"
    UNCHECKED = "unchecked"


FIRST = (Fault.REPEATED, Fault.COUNTS, Fault.MISSING)
"""faults of the table itself: the rest of the list hangs on them"""


@dataclass(frozen=True, slots=True)
class Repeated:
    """The label stands at an earlier set too (``earlier``, by index)."""

    fault: ClassVar[Fault] = Fault.REPEATED
    at: int
    earlier: int
    dots: tuple[int, ...] = ()
    severity: float = 1.0


@dataclass(frozen=True, slots=True)
class WrongCounts:
    """No counts lead to the set, or a dot's words take ``told`` counts instead of ``counts``."""

    fault: ClassVar[Fault] = Fault.COUNTS
    at: int
    counts: int
    told: int | None = None
    dots: tuple[int, ...] = ()
    severity: float = 1.0


@dataclass(frozen=True, slots=True)
class Missing:
    """Dots that stand nowhere in the set."""

    fault: ClassVar[Fault] = Fault.MISSING
    at: int
    dots: tuple[int, ...]

    @property
    def severity(self) -> float:
        return float(len(self.dots))


@dataclass(frozen=True, slots=True)
class Close:
    """Two dots closer than ``gap`` on the way to the set; ``moment`` is a share of the move."""

    fault: ClassVar[Fault] = Fault.CLOSE
    at: int
    dots: tuple[int, int]
    squared: Fraction
    moment: Fraction
    counts: int
    gap: int

    @property
    def distance(self) -> float:
        """Units."""
        return math.sqrt(self.squared)

    @property
    def count(self) -> float:
        """The count it happens at, from 0 to the move's counts."""
        return float(self.moment * self.counts)

    @property
    def severity(self) -> float:
        return self.gap / self.distance if self.squared else math.inf


@dataclass(frozen=True, slots=True)
class LargeStep:
    """A dot's step on the way to the set is over its limit."""

    fault: ClassVar[Fault] = Fault.STEP
    at: int
    dots: tuple[int]
    step: Step
    kind: PathKind

    @property
    def severity(self) -> float:
        return self.step.length / self.step.limit


@dataclass(frozen=True, slots=True)
class OffField:
    """A dot stands outside the field by ``outside`` units: in the set, or at a count on the
    way to it."""

    fault: ClassVar[Fault] = Fault.EDGE
    at: int
    dots: tuple[int]
    outside: int
    count: int | None = None

    @property
    def severity(self) -> float:
        return 1 + self.outside / UNITS_PER_STEP


@dataclass(frozen=True, slots=True)
class Unchecked:
    """The ways of these dots to the set are curved and not described, or the words kept for
    them (``in_words``) end elsewhere or leave part of the way to the picture (``as_drawn``)."""

    fault: ClassVar[Fault] = Fault.UNCHECKED
    at: int
    dots: tuple[int, ...]
    in_words: bool = False
    as_drawn: bool = False

    @property
    def severity(self) -> float:
        return 0.0


Finding = Repeated | WrongCounts | Missing | Close | LargeStep | OffField | Unchecked
