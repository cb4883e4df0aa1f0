"""A fundamental as data: its steps, its turn, its feet, and what bands do differently.

Frame of a marcher: x to the right, y forward, in steps; angles in degrees, positive to the left.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

MOST_COUNTS = 128
"""more counts than one move of a drill ever has"""
LARGEST = 4.0
"""steps of a single count; a longer one is a slip of the finger"""

Vector = tuple[float, float]


class Foot(StrEnum):
    LEFT = "left"
    RIGHT = "right"

    @property
    def other(self) -> Foot:
        return Foot.LEFT if self is Foot.RIGHT else Foot.RIGHT

    @property
    def side(self) -> int:
        """-1 for the left foot, +1 for the right one."""
        return -1 if self is Foot.LEFT else 1


class Pivot(StrEnum):
    """What a turn goes about."""

    CENTRE = "centre"
    LEFT = "left"
    RIGHT = "right"

    @property
    def foot(self) -> Foot | None:
        return None if self is Pivot.CENTRE else Foot(self.value)


class Measured(StrEnum):
    """What a step's vector is measured from: the body, the same foot before, the other foot, or
    the place where the fundamental began."""

    BODY = "body"
    SAME_FOOT = "same foot"
    OTHER_FOOT = "other foot"
    START = "start"


class Position(StrEnum):
    """Where the body is, when steps are measured by feet."""

    LAST_FOOT = "last foot"
    MIDPOINT = "midpoint"
    STILL = "still"


class Direction(StrEnum):
    """The heading by which a step is laid: the first of the move, or the one at the start, in
    the middle, at the end of its own count."""

    FIRST = "first"
    START = "start"
    MIDDLE = "middle"
    END = "end"


class Counting(StrEnum):
    """A turn over counts a to b takes b - a + 1 counts (inclusive) or b - a (intervals)."""

    INCLUSIVE = "inclusive"
    INTERVALS = "intervals"


@dataclass(frozen=True)
class Fundamental:
    """A named basic movement.

    ``counts`` is how many it takes, None where whoever uses it must say; ``any_counts`` lets them
    say otherwise, and ``path`` (a vector a count, None where no foot moves) then repeats. With no
    counts it is a turn between two counts. ``turn`` is spread over counts ``turn_from`` to
    ``turn_to`` (None: the last), or reached as ``turn_after`` lists it count by count.
    ``stance`` is the width between the feet in inches; ``horns`` and ``feet`` are angles from the
    facing. ``lead`` is the foot of the first count where it must be one.
    """

    code: str
    name: str
    also: tuple[str, ...] = ()
    note: str = ""
    counts: int | None = None
    any_counts: bool = False
    path: tuple[Vector | None, ...] = ((0.0, 0.0),)
    turn: float = 0.0
    turn_from: int = 1
    turn_to: int | None = None
    turn_after: tuple[float, ...] = ()
    counting: Counting = Counting.INCLUSIVE
    direction: Direction = Direction.END
    pivot: Pivot = Pivot.CENTRE
    stance: float = 0.0
    measured: Measured = Measured.BODY
    position: Position = Position.LAST_FOOT
    other_side: bool = False
    """its steps to the side go to the other side"""
    horns: float = 0.0
    feet: float = 0.0
    lead: Foot | None = None
    stops: bool = False
    """no foot moves after the first count, and what follows starts with the left foot again"""
    drawn: bool = False
    """only the picture says where it ends; its steps are no more than an example"""
    difficulty: int = 1

    @property
    def is_turn(self) -> bool:
        """A turn between two counts."""
        return self.counts == 0 and not self.any_counts

    @property
    def vectors(self) -> tuple[Vector | None, ...]:
        """The path, on the side the band makes it."""
        if not self.other_side:
            return self.path
        return tuple(None if v is None else (-v[0], v[1]) for v in self.path)

    def headings(self, counts: int) -> tuple[float, ...]:
        """Degrees turned since the start, after each count; the last is the whole turn exactly."""
        if self.turn_after:
            return self.turn_after
        last = min(self.turn_to or counts, counts)
        first = min(self.turn_from, last)
        whole = max(last - first + (1 if self.counting is Counting.INCLUSIVE else 0), 1)
        begun = first - (1 if self.counting is Counting.INCLUSIVE else 0)
        return tuple(
            self.turn if k >= last else self.turn * max(k - begun, 0) / whole
            for k in range(1, counts + 1)
        )
