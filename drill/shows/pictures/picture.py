"""Field pictures of pages as SVG; prints have their own (`paper`)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import cached_property
from operator import itemgetter

from drill.field.labels import Box, Label, Line, box_of, place_labels, square
from drill.shows.pictures.ground import Ground
from drill.shows.pictures.shown import DrawnDot

ON_PHONES = 1.9
"""how much larger the style sheet writes on a phone: labels leave room for that"""
RING = 1.8
"""the ring around the spot pointed out, by the size of its dot"""

KINDS = {"hole": "open spot", "left-open": "left open", "stand-in": "stand-in"}


class When(StrEnum):
    """When a label is seen: without room for it only when its dot is pointed at."""

    ALWAYS = ""
    WIDE = "wide"
    """not on a phone"""
    POINTED = "spare"


@dataclass(frozen=True, slots=True)
class Mark:
    """A dot in picture units, its label beside it, and how it is marked."""

    x: int
    y: int
    dot: str
    label: Label
    seen: When = When.ALWAYS
    kind: str = ""
    is_doubtful: bool = False

    @property
    def words(self) -> str:
        """What a reader hears of it: '4-11, open spot'."""
        doubt = "doubtful" if self.is_doubtful else ""
        return ", ".join(filter(None, (self.dot, KINDS.get(self.kind, ""), doubt)))


@dataclass(frozen=True)
class Picture(Ground):
    """A field with everybody, what is not as usual marked, one spot pointed out."""

    @cached_property
    def me_mark(self) -> Mark | None:
        """The spot pointed out, the first to have its label."""
        if self.me is None:
            return None
        ring = self.me_size * RING
        dots = [*self._boxes(self.everyone, self.dot / 2), *self._boxes(self.named, 0.6 * self.dot)]
        gap = ring * (1.15 if self.close else ON_PHONES)
        (mark,) = self._labelled([self.me], gap, dots, lines=self._lines)
        return mark

    @property
    def me_size(self) -> float:
        return self.dot if self.close else 26

    @property
    def me_ring(self) -> float:
        return round(self.me_size * RING, 1)

    @cached_property
    def named_marks(self) -> list[Mark]:
        if not self.named:
            return []
        dots = [*self._boxes(self.everyone, self.dot / 2), *self._boxes(self.named, 0.6 * self.dot)]
        words: list[Box] = []
        if self.me is not None and self.me_mark is not None:
            dots += self._boxes([self.me], self.me_ring)
            words = [self._box(self.me_mark)]
        return self._labelled(self.named, 1.25 * self.dot, dots, words, self._lines)

    @property
    def _lines(self) -> list[Line]:
        return [(self.place(a.x, a.y), self.place(b.x, b.y)) for a, b in self.ways]

    @cached_property
    def marks(self) -> list[Mark]:
        """What is not as usual; open spots are the first to have their labels."""
        unsure = {(d.x, d.y, d.label) for d in self.doubtful}
        standing = [(d.x, d.y, d.label) for d in self.stand_ins]
        kinds = [
            *((d, "hole") for d in self.holes),
            *((d, "left-open") for d in self.opens),
            *((d, "stand-in") for d in self.stand_ins),
            *((d, "holder") for d in self.doubtful if (d.x, d.y, d.label) not in standing),
        ]
        if not kinds:
            return []
        dots = [*self._boxes((*self.everyone, *self.moved), 12), *self._rings]
        made = self._labelled([d for d, _ in kinds], 34 if self.is_part else 48, dots)
        return [
            replace(mark, kind=kind, is_doubtful=(d.x, d.y, d.label) in unsure)
            for mark, (d, kind) in zip(made, kinds, strict=True)
        ]

    @property
    def _rings(self) -> list[Box]:
        return self._boxes((*self.holes, *self.opens, *self.stand_ins, *self.doubtful), 28)

    @cached_property
    def closed_marks(self) -> list[Mark]:
        """Labels in brackets where nobody stands any more."""
        if not self.closed:
            return []
        bracketed = [DrawnDot(d.x, d.y, f"({d.label})") for d in self.closed]
        dots = [*self._boxes((*self.everyone, *self.moved), 12), *self._rings]
        words = [self._box(mark) for mark in self.marks if mark.seen is When.ALWAYS]
        return self._labelled(bracketed, 20, dots, words, on_point=True)

    @property
    def has_spare(self) -> bool:
        """Whether some labels only show when their dots are pointed at."""
        me = [self.me_mark] if self.me_mark else []
        shown = (*me, *self.named_marks, *self.marks, *self.closed_marks)
        return any(mark.seen is not When.ALWAYS for mark in shown)

    def _labelled(
        self,
        dots: Sequence[DrawnDot],
        gap: float,
        taken: list[Box],
        words: Iterable[Box] = (),
        lines: Iterable[Line] = (),
        on_point: bool = False,
    ) -> list[Mark]:
        """Labels in the size of a phone; those without room there in that of a wide screen."""
        at = [(*self.place(d.x, d.y), d.label) for d in dots]
        left, top, width, height = self.window

        def placed(
            points: list[tuple[int, int, str]], size: float, words: list[Box]
        ) -> list[Label]:
            return place_labels(
                points,
                size=size,
                gaps=(gap, gap + size / 2, gap + 1.2 * size),
                taken=taken,
                words=[*words, *self._row_boxes(size)],
                lines=list(lines),
                within=(left, top, left + width, top + height),
                on_point=on_point,
            )

        fixed = list(words)
        found = placed(at, self._written, fixed)
        marks = [Mark(*dot, label) for dot, label in zip(at, found, strict=True)]
        fixed += [self._box(mark) for mark in marks if mark.label.has_room]
        later = [n for n, mark in enumerate(marks) if not mark.label.has_room]
        smaller = placed([at[n] for n in later], self.letter, fixed)
        for n, label in zip(later, smaller, strict=True):
            seen = When.WIDE if label.has_room else When.POINTED
            marks[n] = Mark(*at[n], label, seen)
        return marks

    @property
    def _written(self) -> float:
        """How large labels are written where they are largest."""
        return self.letter * ON_PHONES

    def _box(self, mark: Mark) -> Box:
        return box_of(mark.label, mark.x, mark.y, self._written)

    def _row_boxes(self, size: float) -> Iterator[Box]:
        """What the words along the edges cover."""
        left, top, *_ = self.window
        front, back = self.front_row, self.back_row
        for x, word, shown in front.numbers:
            if shown:
                yield box_of(Label(word, 0, 0, front.drop, "middle"), x, front.y, size)
        for x, anchor, word in filter(itemgetter(2), back.words):
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
    def moved_path(self) -> str:
        return self.path(self.moved)
