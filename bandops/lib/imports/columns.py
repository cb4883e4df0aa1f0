"""A file's columns matched with those of an import, and what is odd in them."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from bandops.lib.imports.plan import Column, Fault, Mapped, Record
from bandops.lib.imports.tables import Oddity
from bandops.lib.imports.turned_names import says_last_first
from bandops.lib.names import plain

SHEET_ERRORS = frozenset(
    ["#N/A", "#REF!", "#VALUE!", "#NAME?", "#DIV/0!", "#NULL!", "#NUM!", "#SPILL!", "#CALC!"]
)


BRACKETS = re.compile(r"[(\[][^()\[\]]*[)\]]")
MOST_NAMES = 8
"""headers that one message names"""


def header_key(text: str) -> str:
    """What a header is known by; “Alt #” is the number of an alternate, not the alternate."""
    return plain(text.replace("#", " no "))


def bare_key(text: str) -> str:
    """What a header is known by without what stands in brackets; one that only says how names
    are written is that of a name."""
    bare = BRACKETS.sub(" ", text)
    return "name" if says_last_first(bare) else header_key(bare)


def match_headers(headers: Sequence[str], columns: Sequence[Column]) -> dict[str, int]:
    """Column key -> position, for the headers that name one; its own name goes before others."""
    own: dict[str, str] = {}
    other: dict[str, str] = {}
    for column in columns:
        own.setdefault(header_key(column.key), column.key)
        own.setdefault(header_key(column.title), column.key)
        for name in column.also:
            other.setdefault(header_key(name), column.key)
    found: dict[str, int] = {}
    for names, form in ((own, header_key), (other, header_key), (other | own, bare_key)):
        for position, header in enumerate(headers):
            key = names.get(form(header))
            if key is not None and position not in found.values():
                found.setdefault(key, position)
    return found


def odd_cells(mapped: Mapped) -> tuple[list[Fault], list[Fault]]:
    """Faults and warnings for cells a spreadsheet left behind: errors, and formulas as text."""
    faults: list[Fault] = []
    warnings: list[Fault] = []
    used = set(mapped.mapping.values())
    headers = mapped.table.headers
    for row in mapped.table.rows:
        for position, cell in enumerate(row.cells[: len(headers)]):
            name = cell.column or headers[position] or f"column {position + 1}"
            at = cell.row or row.number
            if cell.oddity is Oddity.FORMULA:
                message = "This is a formula; it is kept as text and never run."
                warnings.append(Fault(at, name, message))
            elif position in used and cell.text.strip() in SHEET_ERRORS:
                message = f"“{cell.text.strip()}” is a spreadsheet error, not a value."
                faults.append(Fault(at, name, message))
    return faults, warnings


def too_long(record: Record, limits: dict[str, int]) -> Iterator[Fault]:
    """A fault for each cell with more characters than its column holds."""
    for key, most in limits.items():
        if len(record[key]) > most:
            yield record.fault(key, f"Longer than {most} characters.")


def missing_columns(mapped: Mapped) -> list[Fault]:
    """A fault for each required column that no header was matched to."""
    return [
        Fault(0, c.title, f"No column for “{c.title}”{_also(c)}: choose one above." + read_on)
        for read_on in [not_read(mapped)]
        for c in mapped.columns
        if c.lacks(mapped.mapping)
    ]


def _also(column: Column) -> str:
    return f" (or {', '.join(column.also)})" if column.also else ""


def not_read(mapped: Mapped) -> str:
    """The headers that name nothing, one of which may be meant."""
    used = set(mapped.mapping.values())
    names = [h for n, h in enumerate(mapped.table.headers) if h and n not in used]
    more = " …" if len(names) > MOST_NAMES else ""
    quoted = ", ".join(f"“{name}”" for name in names[:MOST_NAMES])
    return f" Not read so far: {quoted}{more}." if names else ""
