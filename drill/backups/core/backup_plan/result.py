"""What a backup plan says: who learns which spots, and what that is worth."""

from __future__ import annotations

from dataclasses import dataclass

from drill.backups.core.coverage.result import Lesson


@dataclass(frozen=True, slots=True)
class Estimate:
    """A mean over scenarios; the true one lies within ``half_width`` of it 19 times in 20."""

    mean: float
    half_width: float


@dataclass(frozen=True, slots=True)
class Plan:
    """Lessons and the holes to expect with them.

    A hole is a spot whose member is out and that nobody who knows it can take. All estimates
    are made on the same held-out scenarios, which no plan was made from: ``holes`` with this
    plan, ``before`` with no lesson, ``plain`` with the plain rule's lessons, ``by_risk`` with
    the spots dealt by risk, and ``saved`` the difference of ``plain`` and ``holes``.
    ``made_from`` is the mean on the scenarios the plan was made from, which flatters it.
    ``sample_bound`` is below what any lessons reach on a small sample of its own (by a linear
    program); chance moves it, so it is a yardstick and no bound. None: not
    computed, too large, or not solved to its optimum.
    """

    lessons: tuple[Lesson, ...]
    locked: tuple[Lesson, ...]
    plain_lessons: tuple[Lesson, ...]
    holes: Estimate
    before: Estimate
    plain: Estimate
    by_risk: Estimate
    saved: Estimate
    made_from: float
    sample_bound: float | None
    seed: int
    scenarios: int
    held_out: int
