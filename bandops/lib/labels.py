"""Labels that are a slip away from what somebody wrote."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from typing import TypeVar

from rapidfuzz import fuzz, process

Key = TypeVar("Key", bound=Hashable)
Words = tuple[str, ...]
"""what ``names.label_words`` makes of a label"""
NEAR_ENOUGH = 60
"""percent of letters and digits that two labels share"""


def nearest_labels(words: Words, labels: Mapping[Key, Words], most: int) -> list[Key]:
    """Whose labels are a slip away from the words, the likeliest first."""
    joined = {key: "".join(of) for key, of in labels.items()}
    hits = process.extract(
        "".join(words), joined, scorer=fuzz.ratio, limit=most, score_cutoff=NEAR_ENOUGH
    )
    return [key for _, _, key in hits]
