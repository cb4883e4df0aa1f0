"""The unknown words of a file as its review asks about them: one question a word."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from bandops.lib.imports.plan import Fault
from bandops.lib.imports.told import ranges
from bandops.lib.imports.words import (
    LONGEST_WORD,
    Answer,
    Choice,
    UnknownWord,
    nearest,
    word_key,
    word_kind,
)

MOST_CHOICES = 60
"""values that one list offers; of more only the nearest"""
LEAVE, ADD, MEANS = "leave", "add", "means:"
"""what a list sends: leave the rows out, add what the word names, or a value behind a mark"""


@dataclass
class Question:
    """One unknown word, the rows it stands in, and what it may mean: first the likely ones.

    One with a ``preset`` is read so unless somebody says otherwise. ``new_name`` is what would be
    added for it, which is chosen beforehand where the word certainly ``adds`` something.
    """

    kind: str
    text: str
    title: str
    message: str
    likely: list[Choice]
    others: list[Choice]
    can_add: bool
    preset: str = ""
    adds: str = ""
    rows: list[int] = field(default_factory=list)
    columns: list[str] = field(default_factory=list)

    @property
    def name(self) -> str:
        """The field's name in the form."""
        mark = repr((self.kind, word_key(self.text)))
        return "word-" + hashlib.sha256(mark.encode()).hexdigest()[:12]

    @property
    def new_name(self) -> str:
        return self.adds or self.text

    @property
    def where(self) -> str:
        return ranges(self.rows)

    @property
    def count(self) -> int:
        return len(set(self.rows))

    def choice(self, sent: str) -> Choice | None:
        """The choice a form sent; None for one that was not offered."""
        offered = {MEANS + choice.value: choice for choice in (*self.likely, *self.others)}
        return offered.get(sent)

    @property
    def answer(self) -> Answer | None:
        """What the preset says; None without one."""
        choice = self.choice(MEANS + self.preset) if self.preset else None
        return Answer(self.kind, self.text, choice.value, choice.label) if choice else None


def is_asked(fault: Fault) -> bool:
    """True where a word is asked about that can be kept and has values to choose from."""
    word = fault.word
    return word is not None and 0 < len(word.text.strip()) <= LONGEST_WORD


def questions_of(faults: Iterable[Fault], season: Any) -> list[Question]:
    """One question a word, in the order of the file."""
    found: dict[tuple[str, str], Question] = {}
    offered: dict[str, Sequence[Choice]] = {}
    for fault in faults:
        word = fault.word
        if word is None or not is_asked(fault):
            continue
        key = (word.kind, word_key(word.text))
        if key not in found:
            if word.kind not in offered:
                offered[word.kind] = word_kind(word.kind).choices(season)
            found[key] = _question(word, offered[word.kind])
        found[key].rows.append(fault.row)
        if fault.column not in found[key].columns:
            found[key].columns.append(fault.column)
    return list(found.values())


def _question(word: UnknownWord, values: Sequence[Choice]) -> Question:
    kind = word_kind(word.kind)
    likely = list(word.choices)
    likely += [c for c in values if c.value == word.preset and c not in likely]
    if len(values) > MOST_CHOICES:
        values = nearest(word.text, values, MOST_CHOICES)
    named = {choice.value for choice in likely}
    others = [choice for choice in values if choice.value not in named]
    text = word.text.strip()
    can_add = kind.add is not None
    return Question(
        kind.key, text, kind.title, str(word), likely, others, can_add, word.preset, word.adds
    )


def answers_of(
    questions: Iterable[Question], sent: Mapping[str, str]
) -> tuple[list[Answer], list[Question], list[Question]]:
    """What a form says: meanings to keep, words whose rows are left out, words to be added."""
    meanings: list[Answer] = []
    left: list[Question] = []
    added: list[Question] = []
    for question in questions:
        value = sent.get(question.name, "")
        choice = question.choice(value)
        if choice is not None:
            meanings.append(Answer(question.kind, question.text, choice.value, choice.label))
        elif value == LEAVE:
            left.append(question)
        elif value == ADD and question.can_add:
            added.append(question)
    return meanings, left, added
