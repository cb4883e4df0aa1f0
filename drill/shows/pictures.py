"""Field pictures as SVG, the same on pages and in prints."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from drill.field.core import field
from drill.field.labels import Box, Label, Line, box_of, place_labels, square

SCALE = 40
"""1/32 inches per picture unit: the field is 2,880 units from goal line to goal line"""
MARGIN = 60
"""beside the end lines"""
ROW = 120
"""before the front sideline and behind the back one, with room for a row of words"""
AROUND = 90
"""how much of the field is shown around those a close picture is about"""
ROOM = 250
"""how much beside a line that changes, some 9 yards"""
NEAR = 1600
"""how much of the field's length a near picture shows: some 55 yards"""
MOST_LABELS = 24
"""of more dots with labels, those that find no room for theirs go without"""
ON_PHONES = 1.7
"""how much larger the style sheet writes on a phone: labels leave room for that"""


@dataclass(frozen=True, slots=True)
class Dot:
    """A point on the field (1/32 inches) with its label."""

    x: int
    y: int
    label: str = ""


@dataclass(frozen=True, slots=True)
class Mark:
    """A dot in picture units, and its label beside it; empty where there is no room for it."""

    x: int
    y: int
    place: str
    label: Label


@dataclass(frozen=True, slots=True)
class Row:
    """A row of words along an edge: its height, in picture units and ems down, and the words by
    where they stand."""

    y: int
    drop: float
    words: tuple[tuple[int, str, str], ...]


@dataclass(frozen=True, slots=True)
class NumberRow:
    """The same of the yard lines' numbers, each with whether it is shown: not where it would be
    cut off at the picture's edge."""

    y: int
    drop: float
    numbers: tuple[tuple[int, str, bool], ...]


@dataclass(frozen=True)
class Picture:
    """A field with everybody, stand-ins marked, holes ringed, one spot pointed out."""

    field_type: field.FieldType
    everyone: tuple[Dot, ...]
    stand_ins: tuple[Dot, ...] = ()
    holes: tuple[Dot, ...] = ()
    me: Dot | None = None
    title: str = ""
    near: bool = False
    """only the part of the field around ``me``, for small screens"""
    named: tuple[Dot, ...] = ()
    """those the picture is about: drawn dark, with their labels"""
    ways: tuple[tuple[Dot, Dot], ...] = ()
    """where they come from, as lines"""
    close: bool = False
    """only the part of the field around ``named`` and ``me``"""
    larger: float = 1.0
    """how much larger dots are drawn, for a small print"""
    written: float = 1.0
    """the same of words"""
    ratio: float = 2.0
    """of a part's width to its height"""
    opens: tuple[Dot, ...] = ()
    """left open: dotted rings"""
    closed: tuple[Dot, ...] = ()
    """closed up: nobody stands there, so only the label in brackets"""
    around: tuple[Dot, ...] = ()
    """only the part of the field around these"""
    from_field: bool = False
    """as a marcher sees it who faces the press box: turned by half a turn, front at the top"""

    @property
    def view_box(self) -> str:
        return "{} {} {} {}".format(*self.window)

    @cached_property
    def window(self) -> tuple[int, int, int, int]:
        """Left, top, width and height of what is shown: the whole field, or a part of it around
        those the picture is about."""
        shown = [*self.named] + ([self.me] if self.me else [])
        if self.close and shown:
            return self._window(shown, AROUND, AROUND)
        if self.around:
            return self._window(self.around, ROOM, ROOM // 2)
        width = 2 * (field.END_LINE // SCALE) + 2 * MARGIN
        height = field.FIELD_WIDTH // SCALE + 2 * ROW
        if not (self.near and self.me_at):
            return 0, 0, width, height
        left = min(max(self.me_at[0] - NEAR // 2, 0), width - NEAR)
        return left, 0, NEAR, height

    def _window(self, shown: Iterable[Dot], aside: int, above: int) -> tuple[int, int, int, int]:
        at = [self.place(dot.x, dot.y) for dot in shown]
        (left, right), (top, bottom) = ((min(axis), max(axis)) for axis in zip(*at, strict=True))
        height = max(bottom - top + 2 * above, round((right - left + 2 * aside) / self.ratio))
        width = round(self.ratio * height)
        return (left + right - width) // 2, (top + bottom - height) // 2, width, height

    @property
    def is_part(self) -> bool:
        """Whether the sidelines may be out of sight: words then stand along the edges."""
        return self.close or bool(self.around)

    @property
    def dot(self) -> int:
        """A dot's width in picture units, the same on the screen however close the picture is."""
        if not self.close:
            return 19
        return round(max(8, self.window[3] // 42) * self.larger)

    @property
    def letter(self) -> int:
        """The height of words and labels in picture units."""
        if self.is_part:
            return round(max(9, self.window[3] * 0.04) * self.written)
        return 36 if self.near else 60

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
        bracketed = [Dot(d.x, d.y, f"({d.label})") for d in self.closed]
        dots = [*self._boxes((*self.everyone, *self.stand_ins), 12), *self._rings]
        return self._labelled(bracketed, 20, dots, on_point=True)

    def _labelled(
        self,
        dots: Iterable[Dot],
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

    def _boxes(self, dots: Iterable[Dot], half: float) -> list[Box]:
        return [square(*self.place(d.x, d.y), half) for d in dots]

    @property
    def ways_path(self) -> str:
        return "".join(
            "M{} {}L{} {}".format(*self.place(a.x, a.y), *self.place(b.x, b.y))
            for a, b in self.ways
        )

    @property
    def outline(self) -> str:
        (left, front), (right, back) = (
            self.place(-field.END_LINE, 0),
            self.place(field.END_LINE, field.FIELD_WIDTH),
        )
        return f"M{left} {back}H{right}V{front}H{left}Z"

    @property
    def yard_lines(self) -> str:
        lines = []
        for number in range(-10, 11):
            x, front = self.place(number * 5 * field.UNITS_PER_YARD, 0)
            lines.append(f"M{x} {front}V{self.place(0, field.FIELD_WIDTH)[1]}")
        return "".join(lines)

    @property
    def hash_marks(self) -> str:
        marks = []
        for depth in (self.field_type.front_hash, self.field_type.back_hash):
            for number in range(-10, 11):
                x, y = self.place(number * 5 * field.UNITS_PER_YARD, depth)
                marks.append(f"M{x - 18} {y}h36")
        return "".join(marks)

    @property
    def front_row(self) -> NumberRow:
        """The yard lines' numbers: before the front sideline, in a part along its front edge."""
        every = 1 if self.is_part else 2
        left, top, width, height = self.window
        words = []
        for n in range(-8, 9, every):
            x = self.place(n * 5 * field.UNITS_PER_YARD, 0)[0]
            from_middle = abs(x - left - width // 2)
            words.append((x, str(50 - 5 * abs(n)), from_middle < width // 2 - self.letter))
        edge = top + height * self.front_at if self.is_part else self.place(0, 0)[1]
        return NumberRow(edge, 1.0 if self.is_part is self.from_field else -0.35, tuple(words))

    @property
    def back_row(self) -> Row:
        """The sides of whoever looks, and which way is back: along the back edge."""
        _, _, width, height = self.window
        edge = self.letter // 3
        words = (
            (edge, "start", "side 1"),
            (width // 2, "middle", "back"),
            (width - edge, "end", "side 2"),
        )
        return Row(height if self.from_field else 0, -0.4 if self.from_field else 1.0, words)

    @property
    def front_at(self) -> int:
        """Where the front is: 0 at the top, 1 at the bottom."""
        return 0 if self.from_field else 1

    @property
    def everyone_path(self) -> str:
        return self.path(self.everyone)

    @property
    def stand_in_path(self) -> str:
        return self.path(self.stand_ins)

    @property
    def me_at(self) -> tuple[int, int] | None:
        return self.place(self.me.x, self.me.y) if self.me else None

    def path(self, dots: Iterable[Dot]) -> str:
        """All dots as one path: far cheaper to draw than one element each."""
        return "".join("M{} {}h.1".format(*self.place(d.x, d.y)) for d in dots)

    def place(self, x: int, y: int) -> tuple[int, int]:
        """Picture coordinates: the press box looks from below, a marcher from above."""
        turn = -1 if self.from_field else 1
        across = (turn * x + field.END_LINE) / SCALE + MARGIN
        back = y if self.from_field else field.FIELD_WIDTH - y
        return round(across), round(back / SCALE) + ROW
