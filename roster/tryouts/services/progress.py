"""How far a tryout is: what has been done, and what comes next."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from django.db.models import Count, Q

from roster.tryouts import queries
from roster.tryouts.models import (
    Correction,
    Mark,
    Panelist,
    Tryout,
    TypedSheet,
)


@dataclass(frozen=True)
class EvaluatorProgress:
    """Looks that the plan has for an evaluator, and how many are marked on every criterion."""

    panelist: Panelist
    planned: int
    whole: int
    begun: int

    @property
    def left(self) -> int:
        return max(0, self.planned - self.whole)


def evaluator_progress(tryout: Tryout) -> list[EvaluatorProgress]:
    """Every evaluator's; four queries."""
    criteria = queries.criteria(tryout).count()
    planned = Counter(panelist for _, panelist, _ in queries.planned_looks(tryout))
    looks = (
        Mark.objects.filter(candidate__tryout=tryout)
        .order_by()
        .values("panelist_id", "session_id", "candidate_id")
        .annotate(n=Count("pk"))
    )
    begun: dict[int, dict[tuple[int, int], int]] = {}
    for row in looks:
        of = begun.setdefault(row["panelist_id"], {})
        of[row["session_id"], row["candidate_id"]] = row["n"]
    return [
        EvaluatorProgress(
            panelist,
            planned[panelist.pk],
            sum(n >= criteria for n in begun.get(panelist.pk, {}).values()),
            sum(n < criteria for n in begun.get(panelist.pk, {}).values()),
        )
        for panelist in queries.panelists(tryout)
    ]


@dataclass(frozen=True)
class Counts:
    """A tryout in numbers."""

    candidates: int
    here: int
    without_number: int
    lacking: int
    panelists: int
    looks: int
    planned: int
    corrections: int
    sheets: int


def counts_of(tryout: Tryout) -> Counts:
    """For the overview."""
    trying = queries.trying(tryout)
    items = tryout.readiness_items.filter(needed_to_march=True)
    needed = items.count()
    has = Count("ready", filter=Q(ready__item__in=items), distinct=True)
    lacking = trying.annotate(has=has).filter(has__lt=needed).count() if needed else 0
    progress = evaluator_progress(tryout)
    return Counts(
        candidates=trying.count(),
        here=trying.filter(checked_in_at__isnull=False).count(),
        without_number=trying.filter(number__isnull=True).count(),
        lacking=lacking,
        panelists=len(progress),
        looks=sum(p.whole for p in progress),
        planned=sum(p.planned for p in progress),
        corrections=Correction.objects.filter(tryout=tryout, answered_at=None).count(),
        sheets=TypedSheet.objects.filter(session__tryout=tryout, saved_at=None).count(),
    )
