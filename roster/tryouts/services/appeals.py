"""The file of a candidate who asks why: their own marks, figures and reason; others redacted."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from roster.tryouts import queries
from roster.tryouts.models import (
    Candidate,
    Decision,
    Mark,
    Offer,
    Panelist,
    TryoutCriterion,
    TryoutSession,
)
from roster.tryouts.services.deciding import current, offers
from roster.tryouts.services.marking import mark_words
from roster.tryouts.services.marks import counting


@dataclass(frozen=True)
class LookMarks:
    """One evaluator's marks of one session; evaluators are told apart by numbers of this file
    alone, so that nobody can be found out by comparing files."""

    evaluator: str
    session: TryoutSession
    marks: tuple[tuple[TryoutCriterion, str, str], ...]
    """(criterion, mark, what stood before)"""


@dataclass(frozen=True)
class AppealFile:
    """Everything about one candidate and nothing about anybody else."""

    candidate: Candidate
    decision: Decision
    offer: Offer | None
    looks: tuple[LookMarks, ...]
    figures: dict[str, Any]

    @property
    def rows(self) -> list[tuple[TryoutCriterion, list[tuple[str, str]]]]:
        """Criterion by criterion: each look's mark and what stood before, blank where there is
        none."""
        said = [{c: (mark, before) for c, mark, before in look.marks} for look in self.looks]
        criteria = dict.fromkeys(c for look in self.looks for c, _, _ in look.marks)
        ordered = sorted(criteria, key=lambda c: (c.order, c.pk))
        return [(c, [marks.get(c, ("", "")) for marks in said]) for c in ordered]


def file_of(candidate: Candidate) -> AppealFile:
    """From the decision that counts; LookupError without one."""
    tryout = candidate.tryout
    decision = current(tryout)
    if decision is None:
        raise LookupError("no decision yet")
    sessions = {s.pk: s for s in queries.sessions(tryout).filter(is_calibration=False)}
    rows = Mark.objects.filter(candidate=candidate, session__in=sessions)
    order = ("session__starts_at", "panelist", "criterion__order", "criterion")
    by_look: dict[tuple[int, Panelist], list[tuple[TryoutCriterion, str, str]]] = defaultdict(list)
    for it in counting(rows.select_related("criterion").order_by(*order)):
        before = mark_words(it.mark.value) if it.changed else ""
        key = (it.mark.session_id, it.mark.panelist)
        by_look[key].append((it.mark.criterion, mark_words(it.value), before))
    called = {p: f"Evaluator {n}" for n, p in enumerate(dict.fromkeys(p for _, p in by_look), 1)}
    return AppealFile(
        candidate,
        decision,
        offers(decision).filter(candidate=candidate).first(),
        tuple(
            LookMarks(called[panelist], sessions[session], tuple(marks))
            for (session, panelist), marks in by_look.items()
        ),
        decision.basis["figures"].get(str(candidate.pk), {}),
    )
