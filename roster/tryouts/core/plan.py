"""The evaluator plan: which evaluators see which group, and whether their marks will compare."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

import numpy as np

from roster.tryouts.core.linking import Link, Linking, linking
from roster.tryouts.core.looks import Looks

Recused = AbstractSet[tuple[int, int]]
"""(candidate, evaluator) who must not meet"""


@dataclass(frozen=True, slots=True)
class Evaluator:
    """Who evaluates: the sessions they are there for, and the most looks they give (None: any)."""

    key: int
    sessions: frozenset[int]
    most: int | None = None


@dataclass(frozen=True, slots=True)
class Group:
    """Candidates who are seen together: ``slot`` tells groups of a session apart that are seen one
    after the other; those of one slot are seen at the same time."""

    key: int
    session: int
    slot: int
    candidates: tuple[int, ...]


Panels = Mapping[int, Sequence[int]]
"""group -> its evaluators"""


@dataclass(frozen=True, slots=True)
class Check:
    """What is wrong with a plan. ``linking`` is in the keys of candidates, evaluators and sessions;
    ``short``: candidate -> looks planned, where that is fewer than wanted; ``twice``: (session,
    slot, evaluator) in two groups at once; ``away``: (group, evaluator) not there that session;
    ``loads``: evaluator -> looks."""

    linking: Linking
    short: Mapping[int, int]
    twice: tuple[tuple[int, int, int], ...]
    away: tuple[tuple[int, int], ...]
    loads: Mapping[int, int]


def propose(
    groups: Sequence[Group], evaluators: Sequence[Evaluator], looks: int, recused: Recused
) -> dict[int, tuple[int, ...]]:
    """Panels of ``looks`` evaluators each: nobody in two places, nobody who is recused from any of
    the group while others are free, panels linked before loads are level, and evaluators mixed
    with all others. Fewer where there are not enough."""
    so_far = _SoFar(recused, looks)
    panels: dict[int, tuple[int, ...]] = {}
    for (session, _), together in _slots(groups).items():
        busy: set[int] = set()
        for group in together:
            panel: list[int] = []
            while len(panel) < looks:
                free = [
                    e
                    for e in evaluators
                    if session in e.sessions and e.key not in busy and so_far.has_room(e, group)
                ]
                if not free:
                    break
                best = so_far.best(free, group, panel)
                busy.add(best)
                so_far.add(best, group, panel)
                panel.append(best)
            panels[group.key] = tuple(sorted(panel))
    return panels


def _slots(groups: Sequence[Group]) -> dict[tuple[int, int], list[Group]]:
    found: dict[tuple[int, int], list[Group]] = defaultdict(list)
    for group in groups:
        found[group.session, group.slot].append(group)
    return {key: found[key] for key in sorted(found)}


class _SoFar:
    """What is planned so far: looks of each evaluator, how often two were in one panel, and which
    evaluators and candidates are linked: each has the name of their part, once planned."""

    def __init__(self, recused: Recused, looks: int) -> None:
        self.recused, self.looks = recused, looks
        self.load: Counter[int] = Counter()
        self.met: Counter[frozenset[int]] = Counter()
        self.part_of_evaluator: dict[int, int] = {}
        self.part_of_candidate: dict[int, int] = {}

    def has_room(self, evaluator: Evaluator, group: Group) -> bool:
        more = self.load[evaluator.key] + len(group.candidates)
        return evaluator.most is None or more <= evaluator.most

    def best(self, free: Sequence[Evaluator], group: Group, panel: Sequence[int]) -> int:
        """Who of those that are free comes next: not recused, linking parts, with few looks, and
        new to the others of the panel."""
        wanted = self._wanted(group)
        size = max(1, len(group.candidates))

        def cost(key: int) -> tuple[int, bool, int, int, int]:
            lost = sum((c, key) in self.recused for c in group.candidates)
            again = sum(self.met[frozenset((key, other))] for other in panel)
            links = self.part_of_evaluator.get(key) in wanted
            return lost, bool(wanted) and not links, self.load[key] // size, again, key

        return min((e.key for e in free), key=cost)

    def _wanted(self, group: Group) -> set[int]:
        """The parts whose evaluators would link something: those the group is not in. A group in
        no part yet links two only where it has more than one look."""
        parts = set(self.part_of_evaluator.values())
        own = {self.part_of_candidate.get(c) for c in group.candidates} - {None}
        if not own and (len(parts) < 2 or self.looks < 2):
            return set()
        return parts - own

    def add(self, evaluator: int, group: Group, panel: Sequence[int]) -> None:
        """Plan an evaluator's looks at a group."""
        self.load[evaluator] += len(group.candidates)
        self.met.update(frozenset((evaluator, other)) for other in panel)
        seen = [c for c in group.candidates if (c, evaluator) not in self.recused]
        part = self.part_of_evaluator.setdefault(evaluator, evaluator)
        old = {self.part_of_candidate.get(c, part) for c in seen}
        self.part_of_candidate |= dict.fromkeys(seen, part)
        for parts in (self.part_of_evaluator, self.part_of_candidate):
            parts |= {key: part for key, at in parts.items() if at in old}


def planned_looks(
    groups: Sequence[Group], panels: Panels, recused: Recused
) -> list[tuple[int, int, int]]:
    """(candidate, evaluator, session) of every look the plan has."""
    return [
        (candidate, evaluator, group.session)
        for group in groups
        for evaluator in panels.get(group.key, ())
        for candidate in group.candidates
        if (candidate, evaluator) not in recused
    ]


def check(
    groups: Sequence[Group],
    evaluators: Sequence[Evaluator],
    panels: Panels,
    looks: int,
    recused: Recused,
    *,
    sessions_differ: bool,
) -> Check:
    """Whether figures will compare and everybody gets their looks; where ``sessions_differ``, also
    across sessions."""
    planned = planned_looks(groups, panels, recused)
    given = Counter(candidate for candidate, _, _ in planned)
    there = {e.key: e.sessions for e in evaluators}
    places = Counter(
        (group.session, group.slot, evaluator)
        for group in groups
        for evaluator in panels.get(group.key, ())
    )
    everybody = sorted({c for group in groups for c in group.candidates})
    return Check(
        linking=_linked(planned, recused, there, sessions_differ=sessions_differ),
        short={c: given[c] for c in everybody if given[c] < looks},
        twice=tuple(place for place, count in sorted(places.items()) if count > 1),
        away=tuple(
            (group.key, evaluator)
            for group in groups
            for evaluator in panels.get(group.key, ())
            if group.session not in there.get(evaluator, frozenset())
        ),
        loads={e.key: sum(1 for _, by, _ in planned if by == e.key) for e in evaluators},
    )


def _linked(
    planned: Sequence[tuple[int, int, int]],
    recused: Recused,
    there: Mapping[int, frozenset[int]],
    *,
    sessions_differ: bool,
) -> Linking:
    """``linking`` of the planned looks, in their own keys."""
    if not planned:
        return Linking((), ())
    candidates = sorted({c for c, _, _ in planned})
    evaluators = sorted({e for _, e, _ in planned} | set(there))
    sessions = sorted({s for _, _, s in planned})
    c_at = {key: i for i, key in enumerate(candidates)}
    e_at = {key: i for i, key in enumerate(evaluators)}
    s_at = {key: i if sessions_differ else 0 for i, key in enumerate(sessions)}
    looks = Looks(
        candidate=np.array([c_at[c] for c, _, _ in planned], dtype=np.intp),
        evaluator=np.array([e_at[e] for _, e, _ in planned], dtype=np.intp),
        session=np.array([s_at[s] for _, _, s in planned], dtype=np.intp),
        figure=np.zeros(len(planned)),
        candidates=len(candidates),
        evaluators=len(evaluators),
        sessions=len(sessions) if sessions_differ else 1,
    )
    forbidden = [(c_at[c], e_at[e]) for c, e in recused if c in c_at and e in e_at]
    found = linking(looks, forbidden)
    parts = tuple(tuple(candidates[i] for i in part) for part in found.parts)
    sessions_of = {c: [s for c2, _, s in planned if c2 == c] for c in candidates}

    def where(it: Link) -> int:
        """The link's session; where sessions are one, one where the evaluator and best also the
        candidate is there."""
        if sessions_differ:
            return sessions[it.session]
        free = there.get(evaluators[it.evaluator], frozenset())
        both = [s for s in sessions_of[candidates[it.candidate]] if s in free]
        return (both or [s for s in sessions if s in free] or sessions)[0]

    links = tuple(
        Link(candidates[it.candidate], evaluators[it.evaluator], where(it)) for it in found.links
    )
    return Linking(parts, links)
