"""What a member has to learn for a spot, in words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from drill.field.services.writing import Writer
from drill.field.wording import load_words
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.learning.services.studies import Study
from drill.lineup.core.relearn import Load
from drill.lineup.wording import new_set_words
from drill.shows.models import Show
from roster.people.models import Season


@dataclass(frozen=True)
class StudyWords:
    """One show. ``lines`` are its new sets, the hardest first: the label, where the spot stands
    across and in depth, and what makes it hard."""

    show: Show
    words: str
    load: Load
    lacking: tuple[str, ...]
    lines: tuple[tuple[str, str, str, str], ...]


def in_words(one: Study, writer: Writer, fundamentals: Mapping[str, str]) -> StudyWords:
    """The study as pages and prints write it; ``fundamentals``: code -> name."""
    load = one.load
    lines = []
    for new in one.order:
        where = one.at.get(new.index)
        dot = (writer.across(where[0]), writer.depth(where[1])) if where else ("", "")
        lines.append((new.label, *dot, new_set_words(new, fundamentals, writer.style)))
    words = load_words(load.new, load.total, load.largest, load.largest_set, writer.style)
    lacking = tuple(fundamentals.get(code, code) for code in load.lacking)
    return StudyWords(one.show, words, load, lacking, tuple(lines))


def fundamental_names(season: Season) -> dict[str, str]:
    """Code -> name."""
    return {code: it.name for code, it in fundamentals_of(season).items()}
