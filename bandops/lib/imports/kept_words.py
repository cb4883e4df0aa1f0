"""The words a season knows, as their page lists them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bandops.lib.imports.questions import MEANS, MOST_CHOICES
from bandops.lib.imports.words import Choice, Kept, kept_for, nearest, word_kind


@dataclass(frozen=True)
class KeptRow:
    """A kept word, what it is read as, and what it may be changed to."""

    word: Kept
    title: str
    meaning: str
    stands: bool
    choices: Sequence[Choice]

    def choice(self, sent: str) -> Choice | None:
        """The choice a form sent; None for one that was not offered."""
        return next((c for c in self.choices if MEANS + c.value == sent), None)


def kept_words(season: Any) -> list[KeptRow]:
    """By kind and word; ``stands`` is False where what a word was read as is there no more."""
    words = kept_for(season)
    offered = {kind: list(word_kind(kind).choices(season)) for kind in {w.kind for w in words}}
    rows = [_row(word, offered[word.kind]) for word in words]
    return sorted(rows, key=lambda row: (row.title, row.word.text.casefold()))


def _row(word: Kept, values: list[Choice]) -> KeptRow:
    labels = {choice.value: choice.label for choice in values}
    stands = word.value in labels or not values
    if len(values) > MOST_CHOICES:
        values = [c for c in values if c.value == word.value] + [
            c for c in nearest(word.text, values, MOST_CHOICES) if c.value != word.value
        ]
    meaning = labels.get(word.value, word.label)
    return KeptRow(word, word_kind(word.kind).title, meaning, stands, values)
