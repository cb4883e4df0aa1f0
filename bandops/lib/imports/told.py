"""Faults and warnings as a page lists them: the same one in many rows is one line."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from bandops.lib.imports.plan import Fault

MOST_LINES = 300
MOST_RANGES = 6
ALIKE = 3
"""lines that differ only in their values from which they are told as one"""
VALUES = re.compile(
    r"“[^”]*”|\b[^\W\d_]*\d[\w.:/-]*|(?<![.:] )(?<!^)\b[A-ZÀ-Þ][\w'’-]*|"
    r"\b[A-ZÀ-Þ][\w'’-]*(?: [A-ZÀ-Þ][\w'’-]*)+"
)
"""what is a value in a message: what is quoted, figures, names"""


@dataclass(frozen=True)
class Told:
    """One line: the rows it is about (none for the whole file), the column and the message.

    A kind of fault that comes in many rows is one line of it: ``count`` is how many rows,
    ``single`` the lines themselves.
    """

    rows: str
    column: str
    message: str
    count: int = 1
    single: tuple[Told, ...] = ()


def told(faults: Iterable[Fault]) -> tuple[list[Told], int]:
    """The lines by first row, as many as a page holds, and how many more there are."""
    rows: dict[tuple[str, str], list[int]] = {}
    for fault in faults:
        rows.setdefault((fault.column, fault.message), []).append(fault.row)
    kinds: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for column, message in rows:
        kinds.setdefault((column, VALUES.sub("…", message)), []).append((column, message))
    lines: list[Told] = []
    for alike in kinds.values():
        single = [_line(what, rows[what]) for what in alike]
        if len(single) < ALIKE:
            lines += single
        else:
            where = [row for what in alike for row in rows[what]]
            first = single[0]
            told_as = Told(ranges(where), first.column, first.message, len(set(where)))
            lines.append(replace(told_as, single=tuple(single[:MOST_LINES])))
    return lines[:MOST_LINES], max(0, len(lines) - MOST_LINES)


def _line(what: tuple[str, str], rows: list[int]) -> Told:
    return Told(ranges(rows), *what, count=len(set(rows)))


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
