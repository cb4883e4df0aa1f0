"""What a column without a heading is, told by what it holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence

from bandops.lib.imports.plan import Column
from bandops.lib.imports.tables import Table
from bandops.lib.imports.values import parse_date

ENOUGH = 0.8
"""share of a column's filled cells that must look alike"""
SOME = 0.5
"""share that is enough under a heading of the file's own"""
FEWEST = 2
"""filled cells below which a column tells nothing"""
EMAIL = re.compile(r"[^@\s]+@[^@\s]*")
PHONE = re.compile(r"(\+?\d{1,2}[ .-]?)?(\(\d{3}\)|\d{3})[ .-]?\d{3}[ .-]?\d{4}")
NUMBER = re.compile(r"(?=.*\d)[A-Za-z]{0,2}\d{4,9}")
NAME = re.compile(r"[^\W\d_][^\d_@/\\]*[\s,]+[^\d_@/\\]*[^\W\d_][.”\")]?")

Looks = Callable[[str], bool]


def looks_like_email(text: str) -> bool:
    """Also one with a slip in it, which the import tells then."""
    return EMAIL.fullmatch(text) is not None


def looks_like_phone(text: str) -> bool:
    return PHONE.fullmatch(text) is not None


def looks_like_student_number(text: str) -> bool:
    return NUMBER.fullmatch(text) is not None


def looks_like_name(text: str) -> bool:
    """Two words or more of letters; a single word may be anything."""
    return len(text) <= 60 and NAME.fullmatch(text) is not None


def looks_like_day(text: str) -> bool:
    try:
        return parse_date(text) is not None
    except ValueError:
        return False


def recognised(
    table: Table, columns: Sequence[Column], mapping: Mapping[str, int]
) -> dict[str, int]:
    """Column key -> position, for columns without a heading that hold what one of the import's
    columns does; those the mapping names stay as they are."""
    found: dict[str, int] = {}
    for position, header in enumerate(table.headers):
        if header or position in mapping.values():
            continue
        texts = _texts(table, position)
        open_ones = (c for c in columns if c.holds and c.key not in {*mapping, *found})
        key = next((c.key for c in open_ones if c.holds and _mostly(c.holds, texts)), None)
        if key is not None:
            found[key] = position
    return found


def found_anywhere(
    table: Table, columns: Sequence[Column], mapping: Mapping[str, int]
) -> dict[str, int]:
    """The mapping with columns that are known by what they hold, whatever their heading says: one
    that nothing was matched to, or that was matched to a column whose like it does not hold."""
    found = dict(mapping)
    by_key = {column.key: column for column in columns}
    for column in columns:
        if not (column.anywhere and column.holds) or column.key in found:
            continue
        taken = {position: by_key[key] for key, position in found.items()}
        free = [n for n in range(len(table.headers)) if _gives_way(table, n, taken.get(n))]
        shares = {n: _share(column.holds, _texts(table, n)) for n in free}
        best = max(free, key=lambda n: shares[n], default=None)
        if best is not None and shares[best] >= SOME:
            found = {key: position for key, position in found.items() if position != best}
            found[column.key] = best
    return found


def _gives_way(table: Table, position: int, column: Column | None) -> bool:
    """True for a column of the file that is nothing yet, or not what its heading says."""
    if column is None:
        return True
    texts = _texts(table, position)
    return not column.required and column.holds is not None and not _mostly(column.holds, texts)


def _texts(table: Table, position: int) -> list[str]:
    return [row.cell(position).text.strip() for row in table.rows]


def _share(looks: Looks, texts: Iterable[str]) -> float:
    """Of the filled cells those that look alike; none where there are too few to tell."""
    filled = [text for text in texts if text]
    return sum(map(looks, filled)) / len(filled) if len(filled) >= FEWEST else 0


def _mostly(looks: Looks, texts: Iterable[str]) -> bool:
    return _share(looks, texts) >= ENOUGH
