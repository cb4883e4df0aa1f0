"""Charts drawn on the server: strips of bars, dots and intervals in the rows of a table.

A strip is one row's SVG without words, as wide as its cell: places are percents of its width, so
that text beside it stays as large as all other text on any screen. The table it stands in holds
the same figures as words. ``scale`` turns values into places, ``parts`` are what a strip shows.
"""

from bandops.lib.charts.parts import (
    Axis,
    Bar,
    Chart,
    Dot,
    Interval,
    Key,
    Line,
    Row,
    Strip,
    Tick,
    axis_of,
    stacked,
)
from bandops.lib.charts.scale import Scale, scale_for

__all__ = [
    "Axis",
    "Bar",
    "Chart",
    "Dot",
    "Interval",
    "Key",
    "Line",
    "Row",
    "Scale",
    "Strip",
    "Tick",
    "axis_of",
    "scale_for",
    "stacked",
]
