"""Faults and warnings as a page lists them: the same one in many rows is one line."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.imports.plan import Fault

MOST_LINES = 300
MOST_RANGES = 6


@dataclass(frozen=True)
class Told:
    """One line: the rows it is about (none for the whole file), the column and the message."""

    rows: str
    column: str
    message: str


def told(faults: Iterable[Fault]) -> tuple[list[Told], int]:
    """The lines by first row, as many as a page holds, and how many more there are."""
    rows: dict[tuple[str, str], list[int]] = {}
    for fault in faults:
        rows.setdefault((fault.column, fault.message), []).append(fault.row)
    lines = [Told(ranges(where), *what) for what, where in rows.items()]
    return lines[:MOST_LINES], max(0, len(lines) - MOST_LINES)


def ranges(rows: Iterable[int]) -> str:
    """Rows as people list them: 3–7, 9."""
    found: list[list[int]] = []
    for row in sorted({row for row in rows if row}):
        if found and row == found[-1][1] + 1:
            found[-1][1] = row
        else:
            found.append([row, row])
    texts = [f"{first}–{last}" if last > first else str(first) for first, last in found]
    more = len(texts) - MOST_RANGES
    return ", ".join(texts[:MOST_RANGES]) + (f" and {more} more" if more > 0 else "")
