"""From a table to a reviewed plan: columns, what each row would do, and what is wrong."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from enum import StrEnum

from bandops.lib.imports.tables import EMPTY, Cell, Row, Table
from bandops.lib.imports.words import UnknownWord, Words


@dataclass(frozen=True, slots=True)
class Column:
    """A column an import understands; ``also`` are other headers it goes by.

    ``holds`` tells a text of such a column where it has no heading; ``anywhere``, also under a
    heading that names nothing here, or another column that holds nothing of its own. One that is
    ``required`` may lack where one of ``unless`` is there.
    """

    key: str
    title: str
    help: str
    required: bool = False
    also: tuple[str, ...] = ()
    holds: Callable[[str], bool] | None = None
    anywhere: bool = False
    unless: tuple[str, ...] = ()

    def lacks(self, mapping: Mapping[str, int]) -> bool:
        """True where a file needs the column and has it not."""
        has = self.key in mapping or any(key in mapping for key in self.unless)
        return self.required and not has


class Action(StrEnum):
    ADD = "add"
    CHANGE = "change"
    SAME = "same"


@dataclass(frozen=True, slots=True)
class Fault:
    """Something wrong, by row and column header (0 and '' where it is about the whole).

    A ``grave`` warning changes what people already rely on, or is likely a slip: it is accepted
    in a step of its own. ``word`` is what the review asks about where a word is all that is
    wrong.
    """

    row: int
    column: str
    message: str
    grave: bool = False
    word: UnknownWord | None = field(default=None, compare=False, repr=False)


@dataclass(frozen=True, slots=True)
class FieldChange:
    """One value before and after."""

    name: str
    before: str
    after: str


@dataclass(frozen=True)
class Line:
    """What one row does; ``do`` does it, inside the import's transaction."""

    row: int
    action: Action
    label: str
    changes: tuple[FieldChange, ...] = ()
    do: Callable[[], None] = field(default=lambda: None, compare=False)


@dataclass
class Plan:
    """All lines of a table, or the faults that keep it from being accepted.

    ``basis`` is what the plan rests on beside its lines: rows it replaces, the columns chosen.
    """

    lines: list[Line] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)
    warnings: list[Fault] = field(default_factory=list)
    after: list[Callable[[], None]] = field(default_factory=list)
    basis: list[object] = field(default_factory=list)

    def count(self, action: Action) -> int:
        return sum(line.action is action for line in self.lines)

    @property
    def added(self) -> int:
        return self.count(Action.ADD)

    @property
    def changed(self) -> int:
        return self.count(Action.CHANGE)

    @property
    def cautions(self) -> list[Fault]:
        """The grave warnings."""
        return [warning for warning in self.warnings if warning.grave]

    @property
    def remarks(self) -> list[Fault]:
        """The other warnings."""
        return [warning for warning in self.warnings if not warning.grave]

    @property
    def acceptable(self) -> bool:
        return not self.faults and bool(self.added or self.changed)

    @property
    def digest(self) -> str:
        """Equal for plans that would do the same: what was previewed is what is accepted."""
        lines = [(x.row, x.action, x.label, x.changes) for x in self.lines]
        text = repr((lines, self.faults, self.cautions, self.basis))
        return hashlib.sha256(text.encode()).hexdigest()[:16]


@dataclass(frozen=True)
class Mapped:
    """A table read through a choice of columns (column key -> position), and the words that the
    season knows."""

    table: Table
    columns: Sequence[Column]
    mapping: dict[str, int]
    words: Words = field(default_factory=Words)

    def records(self) -> Iterator[Record]:
        for row in self.table.rows:
            yield Record(self, row)

    def title(self, key: str) -> str:
        """The header a column is called by in the file."""
        position = self.mapping.get(key)
        if position is None or position >= len(self.table.headers):
            return next(c.title for c in self.columns if c.key == key)
        return self.table.headers[position] or f"column {position + 1}"


@dataclass(frozen=True)
class Record:
    """One row by column key."""

    mapped: Mapped
    row: Row

    @property
    def number(self) -> int:
        return self.row.number

    def cell(self, key: str) -> Cell:
        """The cell without the blanks around it; empty when the file has no such column."""
        position = self.mapped.mapping.get(key)
        cell = EMPTY if position is None else self.row.cell(position)
        text = cell.text.strip()
        return cell if text == cell.text else replace(cell, text=text)

    def __getitem__(self, key: str) -> str:
        return self.cell(key).text

    def has(self, key: str) -> bool:
        """True when the file has the column at all."""
        return key in self.mapped.mapping

    def fault(self, key: str, problem: str | ValueError, *, grave: bool = False) -> Fault:
        """A fault of a cell, where it stands in the file; of a word, where that is the problem."""
        cell = self.cell(key)
        column = cell.column or self.mapped.title(key)
        word = problem if isinstance(problem, UnknownWord) else None
        return Fault(cell.row or self.number, column, str(problem), grave, word)
