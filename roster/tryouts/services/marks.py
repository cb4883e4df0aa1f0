"""What counts of the marks: the last word on each, with what stood before."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import QuerySet

from roster.tryouts.models import Mark, MarkChange, Tryout


@dataclass(frozen=True, slots=True)
class Word:
    """One thing that was said about a mark; ``value`` None: not seen."""

    value: Decimal | None
    at: datetime.datetime
    by: str
    why: str = ""


@dataclass(frozen=True, slots=True)
class Counting:
    """A mark with what counts of it."""

    mark: Mark
    value: Decimal | None
    changed: bool


def words_of(mark: Mark, changes: Iterable[MarkChange]) -> list[Word]:
    """All that was said about a mark and took effect, oldest first: the last one counts."""
    found = [(mark.made_at, 0, Word(mark.value, mark.made_at, mark.panelist.code))]
    for change in changes:
        correction = change.correction
        if correction is None:
            found.append(
                (
                    change.made_at,
                    change.pk,
                    Word(change.value, change.made_at, mark.panelist.code, "changed"),
                )
            )
        elif correction.agreed and correction.answered_at is not None:
            at = correction.answered_at
            by = f"{correction.asked_by} and {correction.answered_by}"
            found.append((at, change.pk, Word(change.value, at, by, correction.reason)))
    return [word for *_, word in sorted(found, key=lambda row: row[:2])]


def counting(rows: QuerySet[Mark]) -> list[Counting]:
    """Some marks, each with what counts of it; three queries."""
    marks = list(rows.select_related("panelist"))
    changes: dict[int, list[MarkChange]] = defaultdict(list)
    told = MarkChange.objects.filter(mark__in=rows.values("pk"))
    for change in told.select_related("correction__asked_by", "correction__answered_by"):
        changes[change.mark_id].append(change)
    return [_counting(mark, changes.get(mark.pk, ())) for mark in marks]


def _counting(mark: Mark, changes: Iterable[MarkChange]) -> Counting:
    last = words_of(mark, changes)[-1]
    return Counting(mark, last.value, last.value != mark.value)


def marks_of(tryout: Tryout) -> QuerySet[Mark]:
    """All marks of a tryout."""
    return Mark.objects.filter(candidate__tryout=tryout)
