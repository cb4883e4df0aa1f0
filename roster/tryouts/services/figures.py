"""What the marks say of candidates and evaluators, computed once and shown on many pages."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from bandops.lib.audit.unchanged import while_unchanged
from roster.tryouts import queries
from roster.tryouts.core import agreement as core_agreement
from roster.tryouts.core.crossed import Crossed
from roster.tryouts.core.cut import Believed, Group, believed, chances, draw, groups
from roster.tryouts.core.linking import Linking
from roster.tryouts.core.looks import Bools, Floats, Ints, raw_figures
from roster.tryouts.core.minimums import select_with_minimums
from roster.tryouts.core.reliability import Habit, Shares, fit_mixed, habits, shares_of
from roster.tryouts.core.selection import Applicant, Quota, Selection, admitted
from roster.tryouts.core.severity import NotComparable, Severity, fit_severity, quantile
from roster.tryouts.enums import Deciding
from roster.tryouts.models import (
    Candidate,
    Decision,
    Offer,
    Panelist,
    Seat,
    SeatingPlan,
    Tryout,
    TryoutCriterion,
    TryoutQuota,
    TryoutSession,
)
from roster.tryouts.services.judged import Judged, judged
from roster.tryouts.wording import chance_words, group_mark

DRAWS, SEED = 1_000, 20
FEWEST_FOR_MODEL = 3
"""candidates and looks beyond them, from which a model of them is worth fitting"""


@dataclass(frozen=True)
class CandidateFigure:
    """One candidate's figures in percent; None where there is none. ``half`` is half the 95%
    interval of the adjusted figure, ``drawn`` the figure drawn towards the mean."""

    candidate: Candidate
    looks: int
    raw: float | None
    adjusted: float | None
    half: float | None
    drawn: float | None
    chance: float | None
    group: Group | None

    def deciding(self, tryout: Tryout) -> float | None:
        """The figure that the rules let decide."""
        return self.raw if tryout.deciding == Deciding.RAW else self.adjusted

    @property
    def chance_words(self) -> str:
        return chance_words(self.chance) if self.chance is not None else ""

    @property
    def mark(self) -> str:
        """The shape of where they stand."""
        return group_mark(self.group)


@dataclass(frozen=True)
class EvaluatorFigure:
    """How an evaluator marks, in percent."""

    panelist: Panelist
    offset: float
    half: float
    habit: Habit
    usual_spread: float

    @property
    def spread_percent(self) -> int | None:
        """How far apart they mark, against what is usual among the evaluators."""
        found = _known(self.habit.spread)
        return None if found is None else round(100 * found / self.usual_spread)

    @property
    def offset_words(self) -> str:
        """'+2.31'; where it cannot be told from the sessions, that."""
        return "cannot be told" if math.isnan(self.offset) else f"{self.offset:+.2f}"

    @property
    def half_words(self) -> str:
        return "" if math.isnan(self.half) else f"± {self.half:.2f}"

    @property
    def halo(self) -> float | None:
        return _known(self.habit.halo)

    @property
    def drift(self) -> float | None:
        return _known(self.habit.drift)

    @property
    def drift_half(self) -> float | None:
        """Half its 95% interval, by Student's t."""
        error = _known(self.habit.drift_error)
        return None if error is None else quantile(self.habit.looks - 2, 0.95) * error


def _known(value: float) -> float | None:
    return None if math.isnan(value) else value


@dataclass(frozen=True)
class Calibration:
    """A calibration round: the six forms of agreement where the panel is complete."""

    session: TryoutSession
    evaluators: tuple[Panelist, ...]
    candidates: int
    left_out: int
    forms: Mapping[core_agreement.Form, core_agreement.Agreement]
    concordance: core_agreement.Concordance


@dataclass(frozen=True, eq=False)
class Figures:
    """All figures of a tryout. ``fit`` is None where nothing can be compared; ``linking`` says why
    then."""

    judged: Judged
    quotas: tuple[TryoutQuota, ...]
    fit: Severity | None
    mixed: Crossed | None
    linking: Linking | None

    @property
    def tryout(self) -> Tryout:
        return self.judged.tryout

    @cached_property
    def raw(self) -> Floats:
        return raw_figures(self.judged.looks, drop=self.tryout.drop_extremes)

    @cached_property
    def count(self) -> Ints:
        """Looks of each candidate."""
        looks = self.judged.looks
        return np.bincount(looks.candidate, minlength=looks.candidates)

    @property
    def no_difference(self) -> bool:
        """The marks tell no candidate from another: all that differs may be chance."""
        return self.mixed is not None and self.mixed.spreads[0] < 1e-6

    @cached_property
    def known(self) -> Believed | None:
        return believed(self.mixed) if self.mixed is not None else None

    @cached_property
    def core_quotas(self) -> tuple[Quota, ...]:
        return tuple(core_quota(q) for q in self.quotas)

    @cached_property
    def deciding(self) -> Floats:
        """The figure that decides (candidates,), nan without."""
        if self.tryout.deciding == Deciding.RAW:
            return self.raw
        return self.fit.figure if self.fit is not None else np.full(self.raw.shape, np.nan)

    @cached_property
    def seen_enough(self) -> Bools:
        """Still trying, with enough looks (candidates,)."""
        there = np.array([c.withdrawn_at is None for c in self.judged.candidates], dtype=bool)
        found: Bools = there & (self.count >= self.tryout.minimum_looks)
        return found

    @cached_property
    def wishes(self) -> tuple[tuple[int, ...], ...]:
        """The parts (ids) that each candidate wants, in their own order."""
        return tuple(
            tuple(w.part_id for w in c.wanted)  # type: ignore[attr-defined]
            for c in self.judged.candidates
        )

    @cached_property
    def eligible(self) -> Bools:
        """Who can be offered anything: still trying, with enough looks, and at the standard."""
        at_standard = ~np.isnan(self.deciding)
        if self.lowest is not None:
            with np.errstate(invalid="ignore"):
                at_standard &= self.deciding >= self.lowest
        found: Bools = self.seen_enough & at_standard
        return found

    @property
    def lowest(self) -> float | None:
        """The lowest deciding figure that can be offered anything, less what rounding may do."""
        standard = self.tryout.standard
        return None if standard is None else float(standard) - 1e-9

    @cached_property
    def applicants(self) -> tuple[Applicant, ...]:
        """Who can be offered something, with what breaks ties; keys are ids."""
        at = {c.pk: i for i, c in enumerate(self.judged.criteria)}
        order = [at[c.pk] for c in self.tie_criteria]
        means = self.criterion_means
        found = [
            Applicant(
                key=c.pk,
                wishes=self.wishes[i],
                standing=(
                    float(self.deciding[i]),
                    *(float(np.nan_to_num(means[i, k], nan=-1.0)) for k in order),
                ),
            )
            for i, c in enumerate(self.judged.candidates)
            if self.eligible[i]
        ]
        return tuple(sorted(found, key=lambda a: a.key))  # whatever the numbers are

    @cached_property
    def tie_criteria(self) -> tuple[TryoutCriterion, ...]:
        """What breaks ties, in order."""
        by_pk = {c.pk: c for c in self.judged.criteria}
        return tuple(by_pk[pk] for pk in self.tryout.tie_order if pk in by_pk)

    @cached_property
    def criterion_means(self) -> Floats:
        """Mean mark of each candidate in each criterion, nan without one."""
        marks, keys = self.judged.marks, self.judged.keys
        at = {c.pk: i for i, c in enumerate(self.judged.candidates)}
        rows = np.array([at[keys[look][0]] for look in marks.look], dtype=np.intp)
        shape = (len(self.judged.candidates), len(self.judged.criteria))
        total, count = np.zeros(shape), np.zeros(shape)
        np.add.at(total, (rows, marks.criterion), marks.value)
        np.add.at(count, (rows, marks.criterion), 1.0)
        with np.errstate(invalid="ignore"):
            means: Floats = total / count
        return means

    @cached_property
    def selection(self) -> Selection:
        """Who gets what by the rules."""
        return self.selection_with(self.core_quotas)

    def selection_with(self, quotas: Sequence[Quota]) -> Selection:
        """Who would get what with other quotas."""
        return select_with_minimums(self.applicants, quotas)

    @cached_property
    def chance(self) -> Floats | None:
        """Each candidate's chance to belong among those selected (candidates,): in how many of the
        seeded draws of everybody's true figure they are. None without a model or quotas."""
        if self.known is None or self.no_difference or not any(q.target for q in self.core_quotas):
            return None
        drawn = draw(self.known, DRAWS, SEED)
        able = np.flatnonzero(self.seen_enough).tolist()
        spots = {q.part: q.target for q in self.core_quotas}
        inside = np.zeros(drawn.shape, dtype=bool)
        for row, values in enumerate(drawn.tolist()):
            people = [Applicant(i, self.wishes[i], (values[i],)) for i in able]
            inside[row, list(admitted(people, spots))] = True
        return chances(inside)

    @cached_property
    def lines(self) -> tuple[CandidateFigure, ...]:
        """Every candidate's figures, in the order of their numbers."""
        chance = self.chance
        words = groups(chance, float(self.tryout.sure)) if chance is not None else None
        half = self.fit.half_width() if self.fit is not None else None
        return tuple(
            CandidateFigure(
                candidate=candidate,
                looks=int(self.count[i]),
                raw=_value(self.raw, i),
                adjusted=_value(self.fit.figure if self.fit else None, i),
                half=_value(half, i),
                drawn=_value(self.known.mean if self.known else None, i) if self.count[i] else None,
                chance=_value(chance, i) if self.count[i] >= self.tryout.minimum_looks else None,
                group=words[i] if words and self.count[i] >= self.tryout.minimum_looks else None,
            )
            for i, candidate in enumerate(self.judged.candidates)
        )

    @cached_property
    def by_candidate(self) -> dict[int, CandidateFigure]:
        return {line.candidate.pk: line for line in self.lines}

    @cached_property
    def evaluators(self) -> tuple[EvaluatorFigure, ...]:
        """Evaluators with looks, the most generous first."""
        if self.fit is None:
            return ()
        of = habits(
            self.fit, self.judged.scales, self.judged.marks, self.judged.row_of, self.judged.hours
        )
        half = self.fit.half_width_of_offsets()
        usual = float(np.nanmedian([h.spread for h in of])) if any(h.looks > 2 for h in of) else 1.0
        found = [
            EvaluatorFigure(p, float(self.fit.offset[i]), float(half[i]), of[i], usual)
            for i, p in enumerate(self.judged.panelists)
            if of[i].looks
        ]
        return tuple(sorted(found, key=lambda e: -np.nan_to_num(e.offset)))

    @cached_property
    def shares(self) -> Shares | None:
        return shares_of(self.mixed) if self.mixed is not None else None

    @property
    def spots(self) -> set[int]:
        """Parts (ids) that have spots to fill."""
        return {q.part for q in self.core_quotas}

    @cached_property
    def cut(self) -> float | None:
        """The lowest deciding figure that got a spot; None where nobody did."""
        inside = [a.standing[0] for a in self.applicants if a.key in self.selection.places]
        return min(inside) if inside else None


def _value(values: Floats | None, at: int) -> float | None:
    if values is None or np.isnan(values[at]):
        return None
    return float(values[at])


def core_quota(quota: TryoutQuota) -> Quota:
    """A quota as the computation takes it."""
    return Quota(quota.part_id, quota.minimum, quota.target, quota.maximum, quota.alternates)


def figures_of(tryout: Tryout) -> Figures:
    """The figures as the marks are now."""
    found = judged(tryout)
    looks = found.looks
    quotas = tuple(queries.quotas(tryout))
    seen = int(np.unique(looks.candidate).size)
    if seen < FEWEST_FOR_MODEL or looks.figure.size < seen + FEWEST_FOR_MODEL:
        return Figures(found, quotas, None, None, None)
    try:
        fit = fit_severity(looks)
    except NotComparable as error:
        return Figures(found, quotas, None, None, error.linking)
    mixed = fit_mixed(looks) if looks.figure.std() > 0 else None
    return Figures(found, quotas, fit, mixed, None)


def figures_to_show(tryout: Tryout) -> Figures:
    """The same for pages that only show them, kept while nothing is written but what is made of
    them."""
    return while_unchanged(
        ("tryout figures", tryout.pk),
        lambda: _warm(figures_of(tryout)),
        tuple(model._meta.db_table for model in (Decision, Offer, Seat, SeatingPlan)),
    )


def _warm(found: Figures) -> Figures:
    """What is slow is computed once and kept with it."""
    _ = found.lines
    return found


def calibrations(tryout: Tryout) -> list[Calibration]:
    """Each calibration round with at least two candidates that two evaluators have both marked in
    full; whoever lacks a look of one of the panel is left out."""
    found = judged(tryout, calibration=True)
    result = []
    for session in found.sessions:
        table, panel = _complete_table(found, session)
        if table is None:
            continue
        seen = {c for c, _, s in found.keys if s == session.pk}
        result.append(
            Calibration(
                session,
                panel,
                table.shape[0],
                len(seen) - table.shape[0],
                core_agreement.agreements(table),
                core_agreement.concordance(table),
            )
        )
    return result


def _complete_table(
    found: Judged, session: TryoutSession
) -> tuple[Floats | None, tuple[Panelist, ...]]:
    """Candidates by evaluators (n, k) of whoever all evaluators of the round have seen."""
    by_key = found.figure_of
    marked = {e for _, e, s in by_key if s == session.pk}
    panel = tuple(p for p in found.panelists if p.pk in marked)
    people = sorted({c for c, _, s in by_key if s == session.pk})
    rows = [
        [by_key[c, p.pk, session.pk] for p in panel]
        for c in people
        if all((c, p.pk, session.pk) in by_key for p in panel)
    ]
    if len(rows) < 2 or len(panel) < 2:
        return None, panel
    return np.array(rows), panel
