"""The file of a candidate who asks why: their own marks, figures and reason; others redacted."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

from roster.tryouts import queries
from roster.tryouts.models import (
    Candidate,
    Correction,
    Decision,
    Mark,
    MarkChange,
    Offer,
    Panelist,
    TryoutCriterion,
    TryoutSession,
)
from roster.tryouts.services.deciding import current, offers
from roster.tryouts.services.marking import mark_words
from roster.tryouts.services.marks import counting

MOVED = "moved here from another row of the sheet"


@dataclass(frozen=True)
class LookMarks:
    """One evaluator's marks of one session; evaluators are told apart by numbers of this file
    alone, so that nobody can be found out by comparing files."""

    evaluator: str
    session: TryoutSession
    marks: tuple[tuple[TryoutCriterion, str, str], ...]
    """(criterion, mark, how it was corrected: blank where it was not)"""


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
        """Criterion by criterion: each look's mark and how it was corrected, blank where there is
        none."""
        said = [{c: (mark, how) for c, mark, how in look.marks} for look in self.looks]
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
    moved = _moved(candidate)
    for it in counting(rows.select_related("criterion").order_by(*order)):
        how = ""
        if it.changed:
            how = MOVED if it.mark.pk in moved else f"corrected from {mark_words(it.mark.value)}"
        key = (it.mark.session_id, it.mark.panelist)
        by_look[key].append((it.mark.criterion, mark_words(it.value), how))
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


def _moved(candidate: Candidate) -> set[int]:
    """Marks (ids) of the candidate that changed together with others' marks: what was first
    written there is not about them."""
    others = Mark.objects.filter(candidate__tryout=candidate.tryout_id).exclude(candidate=candidate)
    shared = Correction.objects.filter(agreed=True, changes__mark__in=others)
    rows = MarkChange.objects.filter(mark__candidate=candidate, correction__in=shared)
    return set(rows.values_list("mark_id", flat=True))
