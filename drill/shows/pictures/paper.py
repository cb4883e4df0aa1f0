"""Field pictures for prints, drawn in tenths of a millimetre of paper: what is written is as large
as it says here, and what finds no room is listed beside the picture instead."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from drill.field.core import field
from drill.field.labels import Box, Label, Line, box_of, place_labels, square
from drill.shows.pictures.shown import DrawnDot

POINT = 254 / 72
"""in tenths of a millimetre"""
LETTER = 8.2 * POINT
"""the height of everything written: 8 pt, and a little that rounding cannot take away"""
ROW = 46
"""before and behind the whole field, with room for a row of words"""
SIDE = 12
"""beside its end lines"""
GAPS = (4.0, 14.0, 30.0, 50.0, 75.0, 105.0)
"""how far from its disc a label is tried, nearest first"""
FIVE = 5 * field.UNITS_PER_YARD
AROUND = 5 * field.UNITS_PER_YARD // 2
"""how much of the field is shown around those a close picture is about"""
SMALL, DISC, RING = 6.0, 11.0, 15.0
"""half of the widths of a dot, of one that is marked, and of an open spot's ring"""


@dataclass(frozen=True, slots=True)
class Word:
    """A text at a point; ``anchor`` says which end of it stands there."""

    x: float
    y: float
    text: str
    anchor: str
    bold: bool = False


@dataclass(frozen=True)
class PaperPicture:
    """A set on paper: everybody faint, and marked who stands in, what is open, who it is about.

    ``width`` is that of the print, in tenths of a millimetre. With a ``height`` too, it shows a
    part of the field: around ``me`` and those ``named``, else around everybody.
    """

    kind: field.FieldType
    width: float
    everyone: tuple[DrawnDot, ...] = ()
    stand_ins: tuple[DrawnDot, ...] = ()
    holes: tuple[DrawnDot, ...] = ()
    opens: tuple[DrawnDot, ...] = ()
    closed: tuple[DrawnDot, ...] = ()
    me: DrawnDot | None = None
    named: tuple[DrawnDot, ...] = ()
    before: DrawnDot | None = None
    title: str = ""
    from_field: bool = False
    height: float = 0.0

    @cached_property
    def size(self) -> tuple[float, float]:
        if self.height:
            return self.width, self.height
        return self.width, round((self.width - 2 * SIDE) * self._deep / self._long + 2 * ROW)

    @property
    def letter(self) -> float:
        return LETTER

    @property
    def _long(self) -> float:
        return 2 * field.END_LINE

    @property
    def _deep(self) -> float:
        return field.FIELD_WIDTH

    @cached_property
    def part(self) -> Box:
        """What of the field the paper shows (1/32 inch): left, front, right, back."""
        if not self.height:
            scale = self._long / (self.width - 2 * SIDE)
            left, front = -field.END_LINE - SIDE * scale, -ROW * scale
            return left, front, -left, self._deep - front
        everybody = (*self.everyone, *self.stand_ins, *self.holes, *self.opens, *self.closed)
        shown = (self.me, *self.named) if self.me else everybody
        left, right = min(d.x for d in shown) - AROUND, max(d.x for d in shown) + AROUND
        front, back = min(d.y for d in shown) - AROUND, max(d.y for d in shown) + AROUND
        deep = max(back - front, (right - left) * self.height / self.width)
        long = deep * self.width / self.height
        middle, depth = (left + right) / 2, (front + back) / 2
        return middle - long / 2, depth - deep / 2, middle + long / 2, depth + deep / 2

    def at(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the field is on the paper: the press box looks from below, a marcher
        from above."""
        left, front, right, back = self.part
        width, height = self.size
        across, down = (x - left) / (right - left), (back - y) / (back - front)
        if self.from_field:
            across, down = 1 - across, 1 - down
        return round(across * width, 1), round(down * height, 1)

    def _seen(self, dots: Iterable[DrawnDot]) -> list[tuple[float, float, str]]:
        """The dots in sight, on the paper."""
        found = ((*self.at(d.x, d.y), d.label) for d in dots)
        width, height = self.size
        return [(x, y, word) for x, y, word in found if 0 <= x <= width and 0 <= y <= height]

    def _clip(self, x: float, y: float) -> tuple[float, float]:
        width, height = self.size
        x, y = self.at(x, y)
        return min(max(x, 0), width), min(max(y, 0), height)

    @cached_property
    def _lines(self) -> list[int]:
        """The yard lines in sight, as fives from the 50."""
        left, _, right, _ = self.part
        return [n for n in range(-10, 11) if left < n * FIVE < right]

    @property
    def ground(self) -> str:
        """Yard lines, end lines and sidelines, as far as they are in sight."""
        found = []
        for x in [*(n * FIVE for n in self._lines), -field.END_LINE, field.END_LINE]:
            if self.part[0] < x < self.part[2]:
                (at, front), (_, back) = self._clip(x, 0), self._clip(x, self._deep)
                found.append(f"M{at:g} {front:g}V{back:g}")
        for y in (0, field.FIELD_WIDTH):
            if self.part[1] < y < self.part[3]:
                (left, at), (right, _) = (self._clip(s * field.END_LINE, y) for s in (-1, 1))
                found.append(f"M{left:g} {at:g}H{right:g}")
        return "".join(found)

    @property
    def hashes(self) -> str:
        depths = (self.kind.front_hash, self.kind.back_hash)
        marks = [DrawnDot(n * FIVE, y) for n in self._lines for y in depths]
        return "".join(f"M{x - 10:g} {y:g}h20" for x, y, _ in self._seen(marks))

    @cached_property
    def words(self) -> list[Word]:
        """The yard lines' numbers at the front edge; which side it is, and the back."""
        width, height = self.size
        # From the field the front is at the top, and the words change places.
        front, back = (LETTER, height - 8) if self.from_field else (height - 8, LETTER)
        step = abs(self.at(FIVE, 0)[0] - self.at(0, 0)[0])
        every = 1 if step > 3 * LETTER else 2
        found = []
        for n in self._lines:
            x = self.at(n * FIVE, 0)[0]
            if n % every == 0 and abs(n) < 10 and LETTER < x < width - LETTER:
                found.append(Word(x, front, str(50 - 5 * abs(n)), "middle"))
        sides = [(8, self._side(8), "start"), (width - 8, self._side(width - 8), "end")]
        if sides[0][1] == sides[1][1]:
            sides.pop()
        found += [Word(x, back, text, anchor) for x, text, anchor in sides]
        return [*found, Word(width / 2, back, "back", "middle")]

    def _side(self, x: float) -> str:
        """Which side of the field a place on the paper is on: side 1 is the left of whoever
        looks."""
        return "side 1" if x < self.at(0, 0)[0] else "side 2"

    @property
    def faint(self) -> list[tuple[float, float, str]]:
        return self._seen(self.everyone)

    @property
    def faint_path(self) -> str:
        """One path for all: far cheaper to draw than an element each."""
        return _dots(self.faint)

    @property
    def marked(self) -> list[tuple[float, float, str]]:
        """Drawn dark: who stands in, and those a close picture is about."""
        return [*self._seen(self.stand_ins), *self._seen(self.named)]

    @property
    def marked_path(self) -> str:
        return _dots(self.marked)

    @property
    def bars(self) -> str:
        """A bar under everybody who stands in."""
        return "".join(f"M{x - 15:g} {y + 17:g}h30" for x, y, _ in self._seen(self.stand_ins))

    @property
    def rings(self) -> list[tuple[float, float, bool]]:
        """Open spots, with whether they are left open."""
        return [
            *((x, y, False) for x, y, _ in self._seen(self.holes)),
            *((x, y, True) for x, y, _ in self._seen(self.opens)),
        ]

    @property
    def me_at(self) -> tuple[float, float] | None:
        return self.at(self.me.x, self.me.y) if self.me else None

    @property
    def way(self) -> Line | None:
        """Where the one it is about comes from."""
        if self.me is None or self.before is None:
            return None
        return self.at(self.before.x, self.before.y), self.at(self.me.x, self.me.y)

    @cached_property
    def _placed(self) -> list[tuple[float, float, str, Label]]:
        """What is to be named, the most important first, with its label; empty without room."""
        rings = self._seen((*self.holes, *self.opens))
        named = [*rings, *self._seen([self.me] if self.me else []), *self.marked]
        width, height = self.size
        within = (2.0, 2.0, width - 2, height - 2)
        words = [_word_box(word) for word in self.words]
        discs = [square(x, y, DISC) for x, y, _ in self.marked]
        discs += [square(x, y, RING + 3) for x, y, _ in [*rings, *named[: 1 if self.me else 0]]]
        # Those who are as always may be covered, but better not: they weigh as lines do.
        soft: list[Line] = [((x - 5, y), (x + 5, y)) for x, y, _ in self.faint]
        soft += [self.way] if self.way else []
        gaps = [RING + gap for gap in GAPS]
        found = place_labels(
            named,
            size=LETTER,
            gaps=gaps,
            words=[*discs, *words],
            lines=soft,
            within=within,
        )
        written = [(x, y, m) for (x, y, _), m in zip(named, found, strict=True) if m.has_room]
        boxes = [box_of(m, x, y, LETTER) for x, y, m in written]
        gone = [(x, y, f"({text})") for x, y, text in self._seen(self.closed)]
        bracketed = place_labels(
            gone,
            size=LETTER,
            gaps=gaps,
            words=[*discs, *words, *boxes],
            within=within,
            on_point=True,
        )
        pairs = zip([*named, *gone], [*found, *bracketed], strict=True)
        return [(*point, m if m.has_room else replace(m, text="", lead="")) for point, m in pairs]

    @property
    def labels(self) -> list[Word]:
        """The labels that have room, where they are written."""
        return [
            Word(round(x + m.x, 1), round(y + m.y + m.drop * LETTER, 1), m.text, m.anchor, True)
            for x, y, _, m in self._placed
            if m.text
        ]

    @property
    def leads(self) -> str:
        """Lines to labels that stand further off."""
        found = []
        for x, y, _, label in self._placed:
            if label.text and label.lead:
                start, end = (p.split() for p in label.lead[1:].split("L"))
                (a, b), (c, d) = ([float(p) for p in pair] for pair in (start, end))
                found.append(f"M{x + a:g} {y + b:g}L{x + c:g} {y + d:g}")
        return "".join(found)

    @property
    def unlabelled(self) -> list[str]:
        """Whose label found no room, to be listed beside the picture."""
        return [text for _, _, text, label in self._placed if text and not label.text]

    @property
    def grounds(self) -> str:
        """White under everything written, so that no line runs through a letter."""
        words = [*self.words, *self.labels]
        boxes = (_word_box(word) for word in words)
        return "".join(f"M{a:.1f} {b:.1f}H{c:.1f}V{d:.1f}H{a:.1f}Z" for a, b, c, d in boxes)


def _word_box(word: Word) -> Box:
    return box_of(Label(word.text, 0, 0, 0, word.anchor), word.x, word.y, LETTER)


def _dots(points: Iterable[tuple[float, float, str]]) -> str:
    return "".join(f"M{x:g} {y:g}h.1" for x, y, _ in points)
