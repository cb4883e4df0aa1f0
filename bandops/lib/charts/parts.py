"""What a strip shows, in percents of its width, and a chart of strips with its axis and key.

``kind`` names a look (``one`` to ``four``, ``rest``): lightness and hatching, then colour.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from bandops.lib.charts.scale import Scale


@dataclass(frozen=True, slots=True)
class Bar:
    start: float
    width: float
    kind: str = "one"


@dataclass(frozen=True, slots=True)
class Dot:
    at: float
    kind: str = "one"
    title: str = ""
    radius: float = 4.5
    """in pixels"""


@dataclass(frozen=True, slots=True)
class Interval:
    """From one end to the other, with a stop at each."""

    start: float
    end: float


@dataclass(frozen=True, slots=True)
class Line:
    """Upright, through the strip: an average, a limit."""

    at: float


@dataclass(frozen=True)
class Strip:
    """One row's picture."""

    bars: tuple[Bar, ...] = ()
    dots: tuple[Dot, ...] = ()
    intervals: tuple[Interval, ...] = ()
    lines: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    text: str

    @property
    def anchor(self) -> str:
        """Words at the ends stay within the strip."""
        return "start" if self.at < 5 else "end" if self.at > 95 else "middle"


@dataclass(frozen=True)
class Axis:
    ticks: tuple[Tick, ...]


@dataclass(frozen=True, slots=True)
class Key:
    """What a look means."""

    kind: str
    text: str


@dataclass(frozen=True)
class Row:
    """A strip with its name and its figures in words; ``url`` leads to more."""

    title: str
    strip: Strip
    words: str
    url: str = ""


@dataclass(frozen=True)
class Chart:
    """Rows under one heading; ``what`` heads the column of words."""

    caption: str
    rows: tuple[Row, ...]
    axis: Axis | None = None
    keys: tuple[Key, ...] = ()
    head: str = ""
    what: str = ""


def axis_of(scale: Scale, unit: str = "") -> Axis:
    """Round values under the strips; the unit stands at the last one."""
    values = scale.ticks()
    texts = [f"{value:g}" for value in values]
    texts[-1] += unit
    return Axis(tuple(Tick(scale.at(v), text) for v, text in zip(values, texts, strict=True)))


def stacked(scale: Scale, counts: Iterable[float], kinds: Sequence[str]) -> tuple[Bar, ...]:
    """Bars end to end, one a count; a count of nothing has none."""
    bars, total = [], scale.low
    for count, kind in zip(counts, kinds, strict=True):
        start = scale.at(total)
        total += count
        if count:
            bars.append(Bar(start, round(scale.at(total) - start, 2), kind))
    return tuple(bars)
