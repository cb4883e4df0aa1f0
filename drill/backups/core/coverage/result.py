"""What coverage says: for every spot, what happens if the member who marches it drops out."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from drill.lineup.core.problem import Seat


class State(StrEnum):
    """How well a spot is covered."""

    SAFE = "safe"
    THIN = "thin"
    BARE = "bare"
    HOLE = "hole"


class Answer(StrEnum):
    """How one absence is answered: a free member steps in, holders move as well, or nobody."""

    DIRECT = "direct"
    CHAIN = "chain"
    NONE = "none"


class Limiting(StrEnum):
    """A side rule that can take an answer away."""

    STOCK = "stock"
    TRAVEL = "travel"
    DRESS = "uniforms"


@dataclass(frozen=True, slots=True)
class Move:
    """One member goes to a spot; ``from_spot`` is None for a free member."""

    member: str
    from_spot: str | None
    to_spot: str


@dataclass(frozen=True, slots=True)
class SpotCoverage:
    """One seat of the lineup as given, and what follows if its member drops out.

    ``answer`` and ``moves`` are exact. ``moves`` begins with who takes this spot; it is a
    shortest chain, except where a side rule had the lineup solved again.
    ``answers`` counts the free members who could answer, directly or at the end of a chain;
    ``direct`` names those who can step in themselves, the nearest first.
    ``hangs_on`` names the members whose absence on top would leave no answer, from the free
    member's end of the chain to this spot's. It is empty unless the spot is thin.
    ``rule`` is the side rule that takes every answer away (the spot is bare because of it).
    ``exact`` is False where stock, travel or spare pieces could bind with a second absence: a
    SAFE spot may be thin then, and a thin one hang on more members than named. ``answers`` never
    looks at them.
    A HOLE has nobody to drop out: it has no answer here.
    """

    spot: str
    member: str | None
    state: State
    answer: Answer = Answer.NONE
    moves: tuple[Move, ...] = ()
    answers: int = 0
    direct: tuple[str, ...] = ()
    hangs_on: tuple[str, ...] = ()
    rule: Limiting | None = None
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Support:
    """A member, free or not, and the spots that would lose their last answer without them."""

    member: str
    spots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SegmentCoverage:
    """Every seat of one segment in the order of its key; ``supports`` most spots first.

    ``limits`` are the side rules that could bind for some absences of the segment.
    """

    segment: str
    spots: tuple[SpotCoverage, ...]
    supports: tuple[Support, ...]
    limits: tuple[Limiting, ...] = ()

    def count(self, state: State) -> int:
        """How many spots are in the state."""
        return sum(spot.state is state for spot in self.spots)

    def at(self, spot: str) -> SpotCoverage:
        """One spot's coverage; KeyError when the segment has no such seat."""
        for row in self.spots:
            if row.spot == spot:
                return row
        raise KeyError(spot)


@dataclass(frozen=True, slots=True)
class FailingPairs:
    """Which two absences of one segment leave a spot empty that neither alone would.

    Any two members of one of ``groups`` fail together, and no others. ``hopeless`` members leave
    a spot empty by themselves, so every pair with one of them does. ``exact`` is False where a
    side rule could make more pairs fail.
    """

    segment: str
    groups: tuple[tuple[str, ...], ...]
    hopeless: tuple[str, ...]
    exact: bool

    @property
    def pairs(self) -> tuple[tuple[str, str], ...]:
        """The failing pairs one by one, each in the order of the keys."""
        return tuple(sorted((a, b) for group in self.groups for a in group for b in group if a < b))


@dataclass(frozen=True, slots=True, order=True)
class Lesson:
    """A member learns a spot."""

    member: str
    spot: str


@dataclass(frozen=True, slots=True)
class Lessons:
    """The fewest lessons after which every single absence has an answer.

    ``proven``: no smaller number does. ``alone`` lists every lesson that suffices by itself
    (only where one is enough). ``hopeless`` are the seats still without an answer: nobody free is
    qualified for them, or a side rule binds.
    """

    lessons: tuple[Lesson, ...]
    proven: bool
    alone: tuple[Lesson, ...]
    hopeless: tuple[Seat, ...]
