"""A tryout's marks as the computation takes them: the one place where rows become arrays."""

from __future__ import annotations

import datetime
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from roster.tryouts import queries
from roster.tryouts.core.looks import Floats, Ints, Looks, Marks, Scale, look_figures
from roster.tryouts.core.sheets import Sheet
from roster.tryouts.models import (
    Candidate,
    GroupPlace,
    Mark,
    Panelist,
    Tryout,
    TryoutCriterion,
    TryoutSession,
)
from roster.tryouts.services.marks import counting, marks_of

LookKey = tuple[int, int, int]
"""candidate, evaluator, session (ids)"""


@dataclass(frozen=True, eq=False)
class Judged:
    """What a tryout's evaluators said. ``keys``: the looks that any word was said in, in the order
    they were made; ``marks``: numbers, their looks as places in ``keys``; ``of_mark``: the row of
    each number; ``not_seen``: (look, criterion) places."""

    tryout: Tryout
    candidates: tuple[Candidate, ...]
    panelists: tuple[Panelist, ...]
    sessions: tuple[TryoutSession, ...]
    criteria: tuple[TryoutCriterion, ...]
    keys: tuple[LookKey, ...]
    made_at: tuple[datetime.datetime, ...]
    marks: Marks
    of_mark: tuple[Mark, ...]
    not_seen: frozenset[tuple[int, int]]

    @cached_property
    def scales(self) -> tuple[Scale, ...]:
        return tuple(Scale(c.bottom, c.top, c.weight) for c in self.criteria)

    @cached_property
    def figures(self) -> Floats:
        """Each look's figure, nan where nothing was seen."""
        return look_figures(self.scales, self.marks, len(self.keys))

    @cached_property
    def counting(self) -> Ints:
        """Places of the looks that have a figure."""
        return np.flatnonzero(~np.isnan(self.figures))

    @cached_property
    def figure_of(self) -> dict[LookKey, float]:
        """The figure of each look that has one."""
        return {self.keys[at]: float(self.figures[at]) for at in self.counting.tolist()}

    @cached_property
    def row_of(self) -> Ints:
        """Each look's row among those with a figure, -1 without one."""
        rows = np.full(len(self.keys), -1, dtype=np.intp)
        rows[self.counting] = np.arange(self.counting.size)
        return rows

    @cached_property
    def looks(self) -> Looks:
        """The looks with a figure. Sessions that are not told apart are one."""
        differ = self.tryout.sessions_differ
        c_at = {c.pk: i for i, c in enumerate(self.candidates)}
        e_at = {p.pk: i for i, p in enumerate(self.panelists)}
        s_at = {s.pk: i if differ else 0 for i, s in enumerate(self.sessions)}
        keys = [self.keys[i] for i in self.counting]
        return Looks(
            candidate=np.array([c_at[c] for c, _, _ in keys], dtype=np.intp),
            evaluator=np.array([e_at[e] for _, e, _ in keys], dtype=np.intp),
            session=np.array([s_at[s] for _, _, s in keys], dtype=np.intp),
            figure=self.figures[self.counting],
            candidates=len(self.candidates),
            evaluators=len(self.panelists),
            sessions=len(self.sessions) if differ else 1,
        )

    @cached_property
    def hours(self) -> Floats:
        """When each look with a figure was made, in hours since the first."""
        if not self.made_at:
            return np.zeros(0)
        first = min(self.made_at)
        return np.array([(self.made_at[i] - first).total_seconds() / 3600 for i in self.counting])

    @cached_property
    def sheets(self) -> tuple[Sheet, ...]:
        """The looks with a figure of one evaluator and session, in the order of the groups' sheets,
        else of the marks."""
        order = {
            (place.candidate_id, place.group.session_id): (place.group.number, place.order)
            for place in GroupPlace.objects.filter(group__session__in=self.sessions).select_related(
                "group"
            )
        }
        rows: dict[tuple[int, int], list[int]] = defaultdict(list)
        for row, at in enumerate(self.counting):
            _, evaluator, session = self.keys[at]
            rows[evaluator, session].append(row)

        def place(row: int) -> tuple[tuple[int, int], int]:
            candidate, _, session = self.keys[self.counting[row]]
            return order.get((candidate, session), (10_000, 0)), row

        return tuple(
            Sheet(np.array(sorted(found, key=place), dtype=np.intp)) for found in rows.values()
        )

    def of(self, row: int) -> tuple[Candidate, Panelist, TryoutSession]:
        """Whose look a row of ``looks`` is."""
        return self.of_key(self.keys[self.counting[row]])

    def of_key(self, key: LookKey) -> tuple[Candidate, Panelist, TryoutSession]:
        """Whose look a key names."""
        candidate, evaluator, session = key
        return self._candidate[candidate], self._panelist[evaluator], self._session[session]

    @cached_property
    def _candidate(self) -> dict[int, Candidate]:
        return {c.pk: c for c in self.candidates}

    @cached_property
    def _panelist(self) -> dict[int, Panelist]:
        return {p.pk: p for p in self.panelists}

    @cached_property
    def _session(self) -> dict[int, TryoutSession]:
        return {s.pk: s for s in self.sessions}


def judged(tryout: Tryout, *, calibration: bool = False) -> Judged:
    """All marks that count, or those of the calibration rounds; five queries and the marks'."""
    sessions = list(queries.sessions(tryout).filter(is_calibration=calibration))
    criteria = list(queries.criteria(tryout))
    said = counting(marks_of(tryout).filter(session__in=sessions))
    first: dict[LookKey, datetime.datetime] = {}
    for it in said:
        key = _key(it.mark)
        first[key] = min(first.get(key, it.mark.made_at), it.mark.made_at)
    keys = sorted(first, key=lambda key: (first[key], key))
    at = {key: i for i, key in enumerate(keys)}
    column = {c.pk: i for i, c in enumerate(criteria)}
    numbers = [it for it in said if it.value is not None]
    return Judged(
        tryout=tryout,
        candidates=_marked(tryout, keys),
        panelists=tuple(queries.panelists(tryout)),
        sessions=tuple(sessions),
        criteria=tuple(criteria),
        keys=tuple(keys),
        made_at=tuple(first[key] for key in keys),
        marks=Marks(
            look=np.array([at[_key(it.mark)] for it in numbers], dtype=np.intp),
            criterion=np.array([column[it.mark.criterion_id] for it in numbers], dtype=np.intp),
            value=np.array([float(it.value or 0) for it in numbers]),
        ),
        of_mark=tuple(it.mark for it in numbers),
        not_seen=frozenset(
            (at[_key(it.mark)], column[it.mark.criterion_id]) for it in said if it.value is None
        ),
    )


def _key(mark: Mark) -> LookKey:
    return mark.candidate_id, mark.panelist_id, mark.session_id


def _marked(tryout: Tryout, keys: Sequence[LookKey]) -> tuple[Candidate, ...]:
    """Whoever tries out, by number, and whoever withdrew with marks, which still tell of their
    evaluators."""
    seen = {candidate for candidate, _, _ in keys}
    rows = queries.candidates(tryout).order_by("number", "pk")
    return tuple(c for c in rows if c.withdrawn_at is None or c.pk in seen)
