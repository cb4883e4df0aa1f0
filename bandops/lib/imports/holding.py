"""What a column without a heading is, told by what it holds."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence

from bandops.lib.imports.plan import Column
from bandops.lib.imports.tables import Table
from bandops.lib.imports.values import parse_date

ENOUGH = 0.8
"""share of a column's filled cells that must look alike"""
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
        texts = [row.cell(position).text.strip() for row in table.rows]
        open_ones = (c for c in columns if c.holds and c.key not in {*mapping, *found})
        key = next((c.key for c in open_ones if c.holds and _mostly(c.holds, texts)), None)
        if key is not None:
            found[key] = position
    return found


def _mostly(looks: Looks, texts: Iterable[str]) -> bool:
    filled = [text for text in texts if text]
    return len(filled) >= FEWEST and sum(map(looks, filled)) >= ENOUGH * len(filled)
