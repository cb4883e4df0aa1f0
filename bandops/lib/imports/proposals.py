"""What an import makes of free text, row by row: a proposal to accept or to correct."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from bandops.lib.dates import clock_words, weekday_words
from bandops.lib.imports.plan import Mapped
from bandops.lib.imports.tables import EMPTY, Cell, Row
from bandops.lib.imports.words import Choice

Answers = Mapping[str, Mapping[str, str]]
"""row number -> column key -> text: what a reviewer put in place of free text"""
ALL = "all"
"""in place of a row number: what was chosen for the whole file"""
LONGEST = 60
"""characters of one corrected cell"""


@dataclass(frozen=True, slots=True)
class ProposedField:
    """One column's value as a page asks for it: a choice, or an input of a type."""

    key: str
    title: str
    value: str
    choices: tuple[Choice, ...] = ()
    type: str = "text"

    @property
    def said(self) -> str:
        """The value as people say it."""
        labels = {choice.value: choice.label for choice in self.choices}
        return labels.get(self.value) or _as_said(self.type, self.value)


def _as_said(type_: str, text: str) -> str:
    try:
        if type_ == "date":
            return weekday_words(datetime.date.fromisoformat(text))
        return clock_words(datetime.time.fromisoformat(text)) if type_ == "time" else text
    except ValueError:
        return text


@dataclass(frozen=True, slots=True)
class Proposal:
    """One row: whom it is about, what was written in column ``source``, and how it is read.

    ``doubts`` are sentences about what is not certain; ``checked`` is true once a person has
    accepted or corrected it.
    """

    row: int
    who: str
    source: str
    original: str
    fields: tuple[ProposedField, ...]
    doubts: tuple[str, ...] = ()
    checked: bool = False

    @property
    def certain(self) -> bool:
        """True where nobody needs to answer anything any more."""
        return self.checked or not self.doubts

    @property
    def said(self) -> str:
        """The reading in one line: “out, from Sat, Oct 3, through Sun, Oct 4”."""
        first, *rest = self.fields
        more = [f"{field.title.lower()} {field.said}" for field in rest if field.value]
        # “late until” says with its time what it says alone.
        alone = [] if any(text.startswith(f"{first.said} ") for text in more) else [first.said]
        return "; ".join(alone + more)

    @property
    def texts(self) -> dict[str, str]:
        """The row's cells with the proposal in place of the free text."""
        return {self.source: "", **{field.key: field.value for field in self.fields}}


def answered(mapped: Mapped, answers: Answers) -> Mapped:
    """The table with the reviewer's cells; columns that the file lacks come behind its own."""
    lacking = {key for cells in answers.values() for key in cells} - mapped.mapping.keys()
    new = [column for column in mapped.columns if column.key in lacking]
    width = len(mapped.table.headers)
    mapping = mapped.mapping | {column.key: width + n for n, column in enumerate(new)}
    headers = (*mapped.table.headers, *(column.title for column in new))
    rows = tuple(
        _with_cells(row, len(headers), mapping, answers.get(str(row.number), {}))
        for row in mapped.table.rows
    )
    table = replace(mapped.table, headers=headers, rows=rows)
    return replace(mapped, table=table, mapping=mapping)


def _with_cells(row: Row, width: int, mapping: dict[str, int], texts: Mapping[str, str]) -> Row:
    cells = [*row.cells[:width], *(EMPTY,) * (width - len(row.cells))]
    for key, text in texts.items():
        if key in mapping:
            cells[mapping[key]] = Cell(text)
    return replace(row, cells=tuple(cells))


def overlaid(proposals: Iterable[Proposal], answers: Answers) -> list[Proposal]:
    """The proposals as the reviewer left them."""
    return [_overlaid(it, answers.get(str(it.row))) for it in proposals]


def _overlaid(it: Proposal, texts: Mapping[str, str] | None) -> Proposal:
    if texts is None:
        return it
    fields = tuple(replace(f, value=texts.get(f.key, f.value)) for f in it.fields)
    return replace(it, fields=fields, checked=True)


def posted_answers(
    sent: Mapping[str, str], proposals: Iterable[Proposal]
) -> dict[str, dict[str, str]]:
    """The rows that a reviewer ticked or changed, as they stand now; all that are certain where
    they accepted those in one go."""
    found: dict[str, dict[str, str]] = {}
    for it in proposals:
        texts = {
            f.key: sent.get(f"row-{it.row}-{f.key}", f.value).strip()[:LONGEST] for f in it.fields
        }
        changed = any(texts[f.key] != f.value for f in it.fields)
        right = sent.get(f"row-{it.row}") == "right" or (
            it.certain and sent.get("certain") == "all"
        )
        if changed or right:
            found[str(it.row)] = {it.source: "", **texts}
    return found
