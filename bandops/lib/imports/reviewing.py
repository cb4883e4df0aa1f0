"""A file under review: its table as chosen, what it would do, and what is asked and told."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from bandops.lib.accounts.models import User
from bandops.lib.imports.answering import Chooser, answered_table, chooser, proposals
from bandops.lib.imports.kinds import ImportKind, kind_of, words_used
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.imports.plan import Action, Line, Mapped, Plan
from bandops.lib.imports.presets import answers_read, plan_with_presets
from bandops.lib.imports.questions import Question, is_asked, questions_of
from bandops.lib.imports.rest import Reasons, rows_at_fault
from bandops.lib.imports.tables import Row, Table
from bandops.lib.imports.told import told
from bandops.lib.imports.words import Answer, kept_for, word_key, word_kind, words_of

SHOWN_LINES = 400
SHOWN_CELLS = 6


@dataclass
class Review:
    """An upload as its reviewer sees it; ``file`` is all that was read, ``table`` what counts."""

    kept: ImportUpload
    season: Any
    actor: User
    kinds: Sequence[ImportKind]
    """what else the file may be"""
    saved: ImportBatch | None = None
    """what was saved of it"""

    @cached_property
    def kind(self) -> ImportKind:
        """KeyError for one that is no more."""
        return kind_of(self.kept.kind)

    @cached_property
    def file(self) -> Table:
        return self.kind.read(self.kept.filename, bytes(self.kept.content), self.kept.sheet)

    @cached_property
    def left_out(self) -> Reasons:
        return {int(row): reason for row, reason in self.kept.left_out.items()}

    @cached_property
    def read(self) -> Table:
        """The rows that count, as they were read."""
        return self.file.chosen(self.left_out, self.kept.taken_in)

    @cached_property
    def _answered(self) -> tuple[Table, dict[str, int]]:
        return answered_table(self.kind, self.read, self.kept, self.season)

    @property
    def table(self) -> Table:
        """The rows that count, with what was put in place of free text."""
        return self._answered[0]

    @property
    def mapping(self) -> dict[str, int]:
        return self._answered[1]

    @cached_property
    def _planned(self) -> tuple[Plan, list[Question]]:
        return plan_with_presets(self._plan_with, self.season)

    def _plan_with(self, presets: list[Answer]) -> Plan:
        return self.kind.plan(self.table, self.mapping, self.season, self.actor, presets)

    @property
    def plan(self) -> Plan:
        return self._planned[0]

    @property
    def presets(self) -> list[Question]:
        """The words that are read without being asked about."""
        return self._planned[1]

    @cached_property
    def questions(self) -> list[Question]:
        return questions_of(self.plan.faults, self.season)

    @cached_property
    def chooser(self) -> Chooser | None:
        return chooser(self.kind, self.read, self.kept, self.season)

    @property
    def to_fix(self) -> Reasons:
        """The rows that were set aside because something is wrong with them."""
        return {row: reason for row, reason in self.left_out.items() if reason}

    def at_fault(self) -> Reasons:
        """The rows that cannot be saved as they are."""
        presets = answers_read(self.presets)
        return rows_at_fault(self.kind, self.table, self.mapping, self.season, self.actor, presets)

    @property
    def numbers(self) -> set[int]:
        """The numbers of all rows that were read."""
        return {r.number for r in (*self.file.rows, *(aside.row for aside in self.file.asides))}

    def context(self) -> dict[str, Any]:
        """What the page shows."""
        plan = self.plan
        lines = [line for line in plan.lines if line.action is not Action.SAME and line.label]
        errors = [fault for fault in plan.faults if not is_asked(fault)]
        faults, faults_hidden = told(errors)
        remarks, remarks_hidden = told(plan.remarks)
        columns = self._columns()
        return {
            "review": self,
            "kept": self.kept,
            "kind": self.kind,
            "table": self.table,
            "plan": plan,
            "questions": self.questions,
            "presets": self.presets,
            "can_leave": len({row.number for row in self.table.rows}) == len(self.table.rows),
            **self._readings(),
            "known": self._known(),
            "faults": faults,
            "error_count": len(errors),
            "faults_hidden": faults_hidden,
            "rows_at_fault": len({fault.row for fault in plan.faults if fault.row}),
            "remarks": remarks,
            "remarks_hidden": remarks_hidden,
            "columns": columns,
            "without_header": self._without_header(),
            "left_out": [c["header"] for c in columns if not c["key"]],
            "out": self.out(),
            "lines": lines[:SHOWN_LINES],
            "hidden": max(0, len(lines) - SHOWN_LINES),
            "same": plan.count(Action.SAME) - _silent(plan.lines),
        }

    def _readings(self) -> dict[str, Any]:
        """The rows with free text: those to answer, and those that are read for certain."""
        found = proposals(self.kind, self.read, self.kept, self.season)
        return {
            "proposals": found,
            "open_rows": [it for it in found if not it.certain],
            "sure_rows": [it for it in found if it.certain],
            "sure_waiting": any(it.certain and not it.checked for it in found),
        }

    def _columns(self) -> list[dict[str, Any]]:
        """Each column of the file with what it is taken for and its first values."""
        taken = {position: key for key, position in self.kept.mapping.items()}
        return [
            {
                "position": position,
                "header": header or f"(column {position + 1}, no header)",
                "key": taken.get(position, ""),
                "samples": [row.cell(position).text for row in self.table.rows[:3]],
            }
            for position, header in enumerate(self.file.headers)
        ]

    def _without_header(self) -> list[str]:
        """A note for each column that has no header and is not empty."""
        titles = {column.key: column.title for column in self.kind.columns}
        taken = {position: titles[key] for key, position in self.kept.mapping.items()}
        notes = []
        for position, header in enumerate(self.file.headers):
            if header or not any(row.cell(position).text.strip() for row in self.file.rows):
                continue
            read_as = f"read as “{taken[position]}”" if position in taken else "left out"
            notes.append(f"Column {position + 1} has no header and is {read_as}.")
        return notes

    def _known(self) -> list[str]:
        """The file's words that the season knows, and what they are read as."""
        words = words_of(self.season)
        used = words_used(Mapped(self.table, self.kind.columns, self.mapping, words))
        labels = {
            kind: {choice.value: choice.label for choice in word_kind(kind).choices(self.season)}
            for kind, _, _ in used
        }
        texts = {(kept.kind, word_key(kept.text)): kept.text for kept in kept_for(self.season)}
        return [
            f"“{texts[kind, word]}” is {labels[kind].get(value, value)}"
            for kind, word, value in used
        ]

    def out(self) -> list[dict[str, Any]]:
        """The rows that are not read: those left out here, and those that look like no entries."""
        rows = {row.number: row for row in self.file.rows}
        why = {number: reason or "left out" for number, reason in self.left_out.items()}
        for aside in self.file.asides:
            rows[aside.row.number] = aside.row
            if aside.row.number not in self.kept.taken_in:
                why.setdefault(aside.row.number, f"looks like {aside.why}")
        return [
            {"number": number, "why": why[number], "text": _text(rows[number])}
            for number in sorted(why)
            if number in rows
        ]


def _text(row: Row) -> str:
    texts = [cell.text.strip() for cell in row.cells if cell.text.strip()]
    return " · ".join(texts[:SHOWN_CELLS]) + (" …" if len(texts) > SHOWN_CELLS else "")


def _silent(lines: list[Line]) -> int:
    return sum(not line.label for line in lines)
