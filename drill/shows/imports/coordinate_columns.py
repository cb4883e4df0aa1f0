"""What the columns of coordinates are called, in whatever layout they stand."""

from __future__ import annotations

from bandops.lib.imports.plan import Column
from bandops.lib.names import plain

COLUMNS = (
    Column(
        "show",
        "show",
        "its name, made when new; needed, or a line “Show: its name” above the table",
    ),
    Column("version", "version", "its label; 1 when empty"),
    Column(
        "field",
        "field",
        "the field the words are written for, by its hashes: 60 ft, 53 ft 4 in, 70 ft 9 in, or "
        "one of the band's own; the show's when empty",
    ),
    Column(
        "set", "set", "its label, in the order of the file", True, ("set number", "page", "picture")
    ),
    Column("counts", "counts", "from the set before to this one", False, ("count", "move counts")),
    Column(
        "total",
        "total counts",
        "counts from the start of the show; instead of the counts, or to check them",
        False,
        ("total", "running total", "running counts", "running count", "cumulative counts"),
    ),
    Column("subset", "subset", "yes for a subset", False, ("between", "between-set")),
    Column("tempo", "tempo", "counts a minute on the way to this set", False, ("bpm",)),
    Column(
        "dot",
        "dot",
        "label of the dot; that of the spot by default",
        True,
        ("place", "spot", "label"),
    ),
    Column(
        "x",
        "across",
        "8-to-5 steps from the 50, positive to the press box's right; or words: side 1, 3.5 "
        "outside the 40",
        False,
        ("x steps", "side to side", "left to right"),
    ),
    Column(
        "y",
        "depth",
        "8-to-5 steps from the front sideline; or words: 6 behind the front hash",
        False,
        ("y steps", "front to back"),
    ),
    Column(
        "coordinate",
        "coordinate",
        "both in one cell, in words; instead of across and depth",
        False,
        ("coordinates", "words"),
    ),
)
OF_POINT = ("x", "y", "coordinate")
OF_SET = ("counts", "total", "subset", "tempo")
OF_FILE = ("show", "version", "field")

NAMES = {
    plain(name): column.key
    for column in reversed(COLUMNS)
    for name in (column.key, column.title, *column.also)
}
POINT_NAMES = sorted(
    ((n, key) for n, key in NAMES.items() if key in OF_POINT), key=lambda item: -len(item[0])
)
"""names of x, y and coordinate, the longest first"""


def key_of(text: str) -> str | None:
    """The column that a text names."""
    return NAMES.get(plain(text))
