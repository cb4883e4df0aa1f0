"""What the solver answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

from drill.lineup.core.problem import Level, Origin, Placement

Tell = Callable[[Level], None]
"""hears of the level that is being proven"""


def nobody(level: Level) -> None:
    """Who does not want to hear of levels."""


class Stage(StrEnum):
    """The method whose answer was taken; each later one is asked only when the former cannot."""

    MATCHING = "matching"
    LINEAR = "linear"
    BRANCHING = "branching"
    CONSTRAINT = "constraint"
    BY_HAND = "by hand"


class PinFault(StrEnum):
    """Why a pin cannot be kept."""

    CANNOT_MARCH = "cannot march"
    TWO_MEMBERS = "two members pinned to one seat"
    TWO_SEATS = "one member pinned to two seats of a segment"
    LEFT_OPEN = "the seat is left open"
    STOCK = "pins need more instruments than there are"
    DRESS = "pins need more spare pieces than there are"
    TRAVEL = "pins need more people than may travel"


@dataclass(frozen=True, slots=True)
class Fault:
    """One contradiction among the pins; ``detail`` names the instrument of a stock fault."""

    code: PinFault
    segment: str = ""
    spot: str = ""
    member: str = ""
    detail: str = ""


class ContradictoryPins(ValueError):
    """The pins contradict each other or the facts; nothing was solved."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__(", ".join(sorted({fault.code.value for fault in faults})))
        self.faults = faults


class NoLineup(ValueError):
    """No lineup meets the rules, empty ones included (for example: must-travel above the limit)."""


class OutOfWork(RuntimeError):
    """The allowed work was spent before any lineup was found; there may well be one."""


@dataclass(frozen=True, slots=True)
class Limits:
    """How much may be spent: branching nodes in all, then the constraint solver's deterministic
    units a level. No clock decides."""

    nodes: int = 100
    deterministic_work: float = 10.0


@dataclass(frozen=True, slots=True)
class LevelResult:
    """One level's value and its best known bound; they are equal when ``proven``.

    Once a level is not proven, those after it have no bound (None): what they could reach
    depends on the level that is still open.
    """

    level: Level
    value: int
    bound: int | None
    proven: bool


@dataclass(frozen=True, slots=True)
class Block:
    """Levels packed into one objective, and scaled integer row prices proving its optimum; with
    no levels, that there is no lineup in the branch."""

    levels: tuple[Level, ...]
    weights: tuple[int, ...]
    scale: int
    rows: tuple[int, ...]
    """those whose price is not zero"""
    prices: tuple[int, ...]
    proof: Certificate | None = None
    """where the prices leave a gap: that no lineup costs less than this one in these levels"""
    settles: bool = True
    """False where it only takes out columns, and its levels come again"""


@dataclass(frozen=True, slots=True)
class Branch:
    """A column that is zero in one branch and one in the other (``branches`` says what that
    takes out), and the proof of each."""

    column: int
    zero: Certificate
    one: Certificate


@dataclass(frozen=True, slots=True)
class Certificate:
    """Prices that prove the lineup optimal, level block by level block, without any solver; from
    where a block has no whole optimum on, in two branches that between them hold every lineup."""

    blocks: tuple[Block, ...]
    branch: Branch | None = None


@dataclass(frozen=True, slots=True)
class Lineup:
    """A lineup with its level values, how it was found and its proof."""

    placements: tuple[Placement, ...]
    levels: tuple[LevelResult, ...]
    stage: Stage
    certificate: Certificate | None = None

    @property
    def proven(self) -> bool:
        """True when every level is proven optimal."""
        return all(result.proven for result in self.levels)

    @property
    def proven_to(self) -> int:
        """How many levels, from the first, are proven."""
        count = 0
        for result in self.levels:
            if not result.proven:
                break
            count += 1
        return count

    @property
    def holes(self) -> tuple[Placement, ...]:
        """The seats that nobody fills and that were not left open."""
        return tuple(p for p in self.placements if p.origin is Origin.HOLE)

    def value(self, level: Level) -> int:
        """The value reached at a level."""
        return next(result.value for result in self.levels if result.level is level)

    def at(self, segment: str, spot: str) -> Placement:
        """The placement of one seat; KeyError when the problem has no such seat."""
        for placement in self.placements:
            if placement.segment == segment and placement.spot == spot:
                return placement
        raise KeyError((segment, spot))
