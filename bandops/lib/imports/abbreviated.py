"""Words that are written short, where only one thing can be meant."""

from __future__ import annotations

from collections.abc import Sequence

from bandops.lib.names import plain

SHORTEST = 3
"""letters that tell a word by its beginning"""


def only_meant(text: str, labels: Sequence[str]) -> int | None:
    """The place of the one label that a text is short for; None where none or several are.

    A label of as many words goes before one that has more: Clar is Clarinet, not Bass clarinet.
    """
    words = plain(text).split()
    for fits in (_is_short_for, _is_within):
        found = [n for n, label in enumerate(labels) if fits(words, plain(label).split())]
        if found:
            return found[0] if len(found) == 1 else None
    return None


def is_short_for(text: str, label: str) -> bool:
    """Each word of the text begins the label's word at its place."""
    return _is_short_for(plain(text).split(), plain(label).split())


def _is_short_for(words: list[str], whole: list[str]) -> bool:
    return len(words) == len(whole) and all(map(_begins, words, whole)) and bool(words)


def _is_within(words: list[str], whole: list[str]) -> bool:
    """Each word of the text begins a word of the label, in their order."""
    rest = iter(whole)
    return bool(words) and all(any(_begins(word, other) for other in rest) for word in words)


def _begins(word: str, whole: str) -> bool:
    return word == whole or (len(word) >= SHORTEST and whole.startswith(word))
