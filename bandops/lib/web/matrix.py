"""A matrix of the whole band on one screen: ranks as rows, spots as small cells that are links."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

MOST_CELLS = 20
"""cells that stand side by side; a longer rank goes on in a line below"""


@dataclass(frozen=True)
class Cell:
    """A spot: its label, a short name, and what is not normal with it in words. ``kind`` names the
    cell's look; one without ``words`` is as it should be, one without ``url`` is no link."""

    label: str
    name: str
    url: str = ""
    kind: str = ""
    words: str = ""
    full_name: str = ""

    @property
    def title(self) -> str:
        """What the cell is too small for: the whole name."""
        return self.full_name or self.name


@dataclass(frozen=True)
class Row:
    """A rank, or the next cells of a long one (``title`` is '' then)."""

    title: str
    cells: tuple[Cell, ...]
    note: str = ""


def rows_of(title: str, cells: Sequence[Cell], note: str = "") -> tuple[Row, ...]:
    """A rank's rows."""
    starts = range(0, len(cells), MOST_CELLS)
    return tuple(
        Row("" if at else title, tuple(cells[at : at + MOST_CELLS]), "" if at else note)
        for at in starts
    )
