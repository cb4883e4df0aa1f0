"""Kinematics: moves into position, facing, horn direction and footprints, count by count.

Frame: x to the right and y forward of somebody with facing 0; on the field, x to side 2 and y away
from the press box. Angles in degrees, positive to the left: a facing f looks along
(-sin f, cos f). Distances in inches. Trade facts, derived exactly; there is no published source.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from drill.fundamentals.core.definition import Direction, Foot, Fundamental, Measured, Position
from drill.fundamentals.core.walked import Footprint, Move, Run, turned

STEP = 22.5
"""inches of an 8-to-5 step"""
FRONT = 180.0
"""the facing of somebody who looks at the press box"""


def run(
    moves: Iterable[Move],
    *,
    start: tuple[float, float] = (0.0, 0.0),
    facing: float = 0.0,
    step: float = STEP,
    foot: Foot = Foot.LEFT,
) -> Run:
    """Do the moves one after another.

    ``start`` and ``step`` in inches, ``facing`` in degrees; ``foot`` leads on the first count.
    """
    walker = _Walker(complex(*start), facing, step, foot)
    ends, wrong = [], []
    for index, move in enumerate(moves):
        if walker.wrong_foot_for(move):
            wrong.append(index)
        walker.do(move)
        ends.append(walker.count)
    points = np.array([(p.real, p.imag) for p in walker.points], dtype=np.float64)
    return Run(
        points,
        np.array(walker.facings),
        np.array(walker.horns),
        tuple(walker.prints),
        tuple(ends),
        tuple(wrong),
        walker.next_foot,
    )


@dataclass
class _Walker:
    """Somebody who walks: the body's centre, both feet, and what was done so far."""

    at: complex
    facing: float
    step: float
    next_foot: Foot
    feet: dict[Foot, complex] = field(default_factory=dict)
    points: list[complex] = field(default_factory=list)
    facings: list[float] = field(default_factory=list)
    horns: list[float] = field(default_factory=list)
    prints: list[Footprint] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.feet = dict.fromkeys(Foot, self.at)
        self._note(self.facing)

    @property
    def count(self) -> int:
        return len(self.points) - 1

    def wrong_foot_for(self, move: Move) -> bool:
        """True where a pivot between counts asks for the foot that is in the air."""
        foot = move.fundamental.pivot.foot
        marching = self.count > 0 and move.fundamental.is_turn
        return marching and foot is not None and foot is self.next_foot

    def do(self, move: Move) -> None:
        it = move.fundamental
        if move.heading is not None:
            self.facing = move.heading
        if it.lead is not None and move.counts:
            self.next_foot = it.lead
        if move.counts == 0:
            self._turn(it, it.turn, feet=True)
            self.points[-1] = self.at
            self.facings[-1] = self.facing
            self.horns[-1] = self.facing + it.horns
            return
        self._march(move)
        if it.stops:
            self.next_foot = Foot.LEFT

    def _march(self, move: Move) -> None:
        it, begun, origin = move.fundamental, self.facing, self.at
        self._stand(it)
        step = move.step if move.step is not None else self.step
        before = 0.0
        for number, after in enumerate(it.headings(move.counts)):
            vector = None if it.stops and number else it.vectors[number % len(it.vectors)]
            if vector is not None:
                laid = move.along
                if laid is None:
                    laid = begun + _laid(it.direction, before, after)
                self._step(it, turned(complex(*vector) * step, laid), origin, begun + after)
            self._turn(it, after - before, feet=vector is None)
            before = after
            self.next_foot = self.next_foot.other
            self._note(self.facing + it.horns)

    def _stand(self, it: Fundamental) -> None:
        """Both feet under the body, for steps that are measured by them."""
        if it.measured is not Measured.BODY:
            self.feet = {foot: self.at + self._aside(it, foot) for foot in Foot}

    def _aside(self, it: Fundamental, foot: Foot) -> complex:
        return turned(complex(foot.side * it.stance / 2), self.facing)

    def _step(self, it: Fundamental, vector: complex, origin: complex, facing: float) -> None:
        foot = self.next_foot
        aside = self._aside(it, foot)
        base = {
            Measured.BODY: self.at + aside,
            Measured.SAME_FOOT: self.feet[foot],
            Measured.OTHER_FOOT: self.feet[foot.other] + 2 * aside,
            Measured.START: origin + aside,
        }[it.measured]
        self.feet[foot] = base + vector
        if it.measured is Measured.BODY or it.position is Position.LAST_FOOT:
            self.at = self.feet[foot] - aside
        elif it.position is Position.MIDPOINT:
            self.at = (self.feet[Foot.LEFT] + self.feet[Foot.RIGHT]) / 2
        down = self.feet[foot]
        self.prints.append(Footprint(foot, self.count + 1, down.real, down.imag, facing + it.feet))

    def _turn(self, it: Fundamental, degrees: float, *, feet: bool) -> None:
        """The body turns about its pivot; the feet with it, unless they step meanwhile."""
        foot = it.pivot.foot
        about = self.at + self._aside(it, foot) if foot else self.at
        self.at = about + turned(self.at - about, degrees)
        if feet:
            self.feet = {f: about + turned(p - about, degrees) for f, p in self.feet.items()}
        self.facing += degrees

    def _note(self, horns: float) -> None:
        self.points.append(self.at)
        self.facings.append(self.facing)
        self.horns.append(horns)


def _laid(direction: Direction, before: float, after: float) -> float:
    return {
        Direction.FIRST: 0.0,
        Direction.START: before,
        Direction.MIDDLE: (before + after) / 2,
        Direction.END: after,
    }[direction]
