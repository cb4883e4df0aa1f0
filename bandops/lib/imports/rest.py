"""The rows of a file that are not saved now: which, why, and as a file to fix and bring back."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.imports.kinds import ImportKind
from bandops.lib.imports.plan import Fault, Mapped
from bandops.lib.imports.tables import Row, Table
from bandops.lib.imports.words import Answer
from bandops.lib.names import plain

REASON = "what is wrong"
"""the header of the reasons; no import reads a column of that name"""
MOST_ROUNDS = 8
LONGEST_REASON = 500
DASH = re.compile(r"\s*[-–—]\s*")
RANGE = re.compile(r"(\d{1,6})(?:-(\d{1,6}))?")

Reasons = dict[int, str]
"""row number -> what is wrong with it"""


def rows_at_fault(
    kind: ImportKind,
    table: Table,
    mapping: dict[str, int],
    season: Any,
    actor: User,
    presets: Sequence[Answer] = (),
) -> Reasons:
    """The rows that keep a table from being saved, with those that go with them.

    Without some rows others may be wrong (a leader whose spot is gone), so it is planned until
    no row is at fault.
    """
    out: Reasons = {}
    for _ in range(MOST_ROUNDS):
        left = table.chosen(out)
        found = _reasons(kind.plan(left, mapping, season, actor, presets).faults)
        if not found:
            break
        out |= _with_company(kind, left, mapping, found)
    return out


def _reasons(faults: Iterable[Fault]) -> Reasons:
    found: dict[int, list[str]] = {}
    for fault in faults:
        if fault.row:
            found.setdefault(fault.row, []).append(f"{fault.column}: {fault.message}")
    return {row: " ".join(texts)[:LONGEST_REASON] for row, texts in found.items()}


def _with_company(
    kind: ImportKind, table: Table, mapping: dict[str, int], found: Reasons
) -> Reasons:
    """Beside the rows themselves, those that are only saved together with one of them."""
    if not kind.together:
        return found
    records = list(Mapped(table, kind.columns, mapping).records())
    groups = {r.number: tuple(plain(r[key]) for key in kind.together) for r in records}
    bad = {groups[row]: row for row in sorted(found, reverse=True) if row in groups}
    company = {
        row: f"Goes with row {bad[group]}."
        for row, group in groups.items()
        if group in bad and row not in found
    }
    return found | company


def rest_of(table: Table, reasons: Mapping[int, str]) -> tuple[list[str], list[list[str]]]:
    """Headers and rows of what is left, in the file's own columns, with a reason each."""
    headers = [*table.headers]
    # A file that comes back with its reasons gets the new ones in the same column.
    at = next((n for n, header in enumerate(headers) if plain(header) == REASON), len(headers))
    headers[at : at + 1] = [REASON]
    rows: list[Row] = [*table.rows, *(aside.row for aside in table.asides)]
    left: list[list[str]] = []
    for row in sorted(rows, key=lambda row: row.number):
        if reasons.get(row.number):
            cells = [row.cell(n).text for n in range(len(headers))]
            cells[at] = reasons[row.number]
            left.append(cells)
    return headers, left


def rows_named(text: str, numbers: Iterable[int]) -> list[int]:
    """The rows of a list such as “3, 7–9”; ValueError for what is none."""
    found: set[int] = set()
    for part in filter(None, re.split(r"[,;\s]+", DASH.sub("-", text))):
        match = RANGE.fullmatch(part)
        if match is None:
            raise ValueError(f"“{part}” is not a row or a range of rows such as 7–9.")
        found.update(range(int(match[1]), int(match[2] or match[1]) + 1))
    there = set(numbers)
    if missing := sorted(found - there):
        raise ValueError(f"The file has no row {missing[0]}.")
    return sorted(found)
