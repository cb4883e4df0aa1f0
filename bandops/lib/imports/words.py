"""Words of a file that nobody here knows, each a choice for the person who reviews it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Choice:
    """What an unknown word may mean: the value that is kept, and how a page calls it."""

    value: str
    label: str


class UnknownWord(ValueError):
    """A word of a kind ("part", "member", "spot", "status") that names nothing for certain.

    ``choices`` are what it may mean, the likeliest first; none where anything is possible.
    """

    def __init__(self, kind: str, text: str, message: str, choices: Sequence[Choice] = ()) -> None:
        super().__init__(message)
        self.kind, self.text, self.choices = kind, text, tuple(choices)
