"""Field pictures as SVG, the same on pages and in prints."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from drill.field.labels import Box, Label, Line, box_of, place_labels, square
from drill.shows.pictures.ground import Ground
from drill.shows.pictures.shown import DrawnDot

MOST_LABELS = 24
"""of more dots with labels, those that find no room for theirs go without"""
ON_PHONES = 1.7
"""how much larger the style sheet writes on a phone: labels leave room for that"""


@dataclass(frozen=True, slots=True)
class Mark:
    """A dot in picture units, and its label beside it; empty where there is no room for it."""

    x: int
    y: int
    dot: str
    label: Label


@dataclass(frozen=True)
class Picture(Ground):
    """A field with everybody, stand-ins marked, holes ringed, one spot pointed out."""

    @cached_property
    def named_marks(self) -> list[Mark]:
        return self._marks[1:] if self.me_marked else self._marks

    @property
    def me_mark(self) -> Mark | None:
        """The spot pointed out, where it has its label."""
        return self._marks[0] if self.me_marked else None

    @property
    def me_marked(self) -> bool:
        return self.close and self.me is not None

    @cached_property
    def _marks(self) -> list[Mark]:
        """The spot pointed out first, then those named."""
        if not self.close:
            return []
        shown = [*([self.me] if self.me else []), *self.named]
        dots = [*self._boxes(self.everyone, self.dot / 2), *self._boxes(self.named, 0.6 * self.dot)]
        ways = [(self.place(a.x, a.y), self.place(b.x, b.y)) for a, b in self.ways]
        me = self._boxes([self.me] if self.me else [], self.dot)
        return self._labelled(shown, 1.25 * self.dot, [*dots, *me], lines=ways)

    @cached_property
    def hole_marks(self) -> list[Mark]:
        return self._ring_marks[: len(self.holes)]

    @cached_property
    def open_marks(self) -> list[Mark]:
        return self._ring_marks[len(self.holes) :]

    @cached_property
    def _ring_marks(self) -> list[Mark]:
        dots = [*self._boxes((*self.everyone, *self.stand_ins), 12), *self._rings]
        return self._labelled([*self.holes, *self.opens], 34, dots)

    @property
    def _rings(self) -> list[Box]:
        return self._boxes((*self.holes, *self.opens), 28)

    @cached_property
    def closed_marks(self) -> list[Mark]:
        """Labels in brackets where nobody stands any more."""
        bracketed = [DrawnDot(d.x, d.y, f"({d.label})") for d in self.closed]
        dots = [*self._boxes((*self.everyone, *self.stand_ins), 12), *self._rings]
        return self._labelled(bracketed, 20, dots, on_point=True)

    def _labelled(
        self,
        dots: Iterable[DrawnDot],
        gap: float,
        taken: list[Box],
        lines: Iterable[Line] = (),
        on_point: bool = False,
    ) -> list[Mark]:
        size = self.letter * (1.0 if self.written > 1 else ON_PHONES)
        at = [(*self.place(d.x, d.y), d.label) for d in dots]
        left, top, width, height = self.window
        labels = place_labels(
            at,
            size=size,
            gaps=(gap, gap + size / 2, gap + 1.2 * size),
            taken=[*taken, *self._row_boxes(size)],
            lines=list(lines),
            within=(left, top, left + width, top + height),
            on_point=on_point,
            leave_out=len(at) > MOST_LABELS,
        )
        return [Mark(*dot, label) for dot, label in zip(at, labels, strict=True)]

    def _row_boxes(self, size: float) -> Iterator[Box]:
        """What the words along the edges cover."""
        left, top, *_ = self.window
        front, back = self.front_row, self.back_row
        for x, word, shown in front.numbers:
            if shown:
                yield box_of(Label(word, 0, 0, front.drop, "middle"), x, front.y, size)
        for x, anchor, word in back.words:
            yield box_of(Label(word, 0, 0, back.drop, anchor), left + x, top + back.y, size)

    def _boxes(self, dots: Iterable[DrawnDot], half: float) -> list[Box]:
        return [square(*self.place(d.x, d.y), half) for d in dots]

    @property
    def ways_path(self) -> str:
        return "".join(
            "M{} {}L{} {}".format(*self.place(a.x, a.y), *self.place(b.x, b.y))
            for a, b in self.ways
        )

    @property
    def everyone_path(self) -> str:
        return self.path(self.everyone)

    @property
    def stand_in_path(self) -> str:
        return self.path(self.stand_ins)
