"""Lessons that leave few holes over given scenarios: greedily, then by exchanges.

A lesson gains one spot in exactly the scenarios in which some largest matching leaves the member
free and some largest matching leaves the spot empty, so the gains of all lessons come from two
searches. How much a set of lessons saves is not submodular: no ratio to the best is claimed.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from drill.backups.core.backup_plan.scenarios import Board, Place
from drill.backups.core.coverage.result import Lesson

PASSES = 12


def find_lessons(
    board: Board, each: int, locked: frozenset[Lesson], start: Iterable[Lesson] = ()
) -> tuple[Lesson, ...]:
    """At most ``each`` lessons a member, the locked ones among them, grown and exchanged from the
    lessons of ``start``; the board has them after."""
    taken = set(locked) | set(start)
    search = _Search(board.teach(taken), each, taken)
    search.grow()
    for _ in range(PASSES):
        if not search.exchange(locked):
            break
    return tuple(sorted(search.taken))


@dataclass
class _Search:
    board: Board
    each: int
    taken: set[Lesson]
    offers: dict[str, list[tuple[Lesson, list[int]]]] = field(init=False)
    """member -> lessons with the nodes of their places"""
    exposable: dict[int, int] = field(init=False)

    def __post_init__(self) -> None:
        event = self.board.scenarios.event
        self.offers = {}
        for member, places in event.may_learn.items():
            by_spot: dict[str, list[Place]] = {}
            for place in places:
                by_spot.setdefault(place[0], []).append(place)
            self.offers[member] = [
                (Lesson(member, spot), [self.board.place[p] for p in found])
                for spot, found in by_spot.items()
            ]
        everything = range(len(self.board.matchings.live))
        self.exposable = self.board.matchings.exposable(everything)

    def _left(self, member: str) -> int:
        return self.each - sum(lesson.member == member for lesson in self.taken)

    def _gain(self, lesson: Lesson, places: list[int]) -> int:
        """Scenarios in which the lesson fills one spot more."""
        empty = 0
        for node in places:
            empty |= self.exposable[node]
        return (self.exposable[self.board.member[lesson.member]] & empty).bit_count()

    def _best(self, member: str) -> tuple[int, Lesson | None]:
        """The member's lesson of most gain, the first of equals."""
        gain, best = 0, None
        for lesson, places in self.offers[member]:
            if lesson not in self.taken:
                value = self._gain(lesson, places)
                if value > gain:
                    gain, best = value, lesson
        return gain, best

    def _put(self, lesson: Lesson) -> set[int]:
        """Take the lesson; the nodes whose gains may have changed."""
        self.taken.add(lesson)
        self.board.teach([lesson])
        return self._refresh(lesson)

    def _drop(self, lesson: Lesson) -> int:
        """Give the lesson up; in how many scenarios that costs a spot."""
        self.taken.discard(lesson)
        node = self.board.member[lesson.member]
        places = [self.board.place[p] for p in self.board.scenarios.event.places_of(lesson)]
        before = self.board.matchings.component(node, *places)
        lost = sum(self.board.matchings.remove(node, place).bit_count() for place in places)
        self.exposable.update(self.board.matchings.exposable(before))
        return lost

    def _refresh(self, lesson: Lesson) -> set[int]:
        nodes = self.board.matchings.component(self.board.member[lesson.member])
        fresh = self.board.matchings.exposable(nodes)
        changed = {node for node, bits in fresh.items() if self.exposable[node] != bits}
        self.exposable.update(fresh)
        return changed

    def grow(self) -> None:
        """Take the lesson of most gain until none gains or nobody has time."""
        best = {m: self._best(m) for m in self.offers if self._left(m) > 0}
        while best:
            member = min(best, key=lambda m: (-best[m][0], m))
            lesson = best[member][1]
            if lesson is None:
                break
            changed = self._put(lesson)
            if self._left(member) <= 0:
                del best[member]
            for other in best:
                nodes = {n for _, places in self.offers[other] for n in places}
                if other == member or self.board.member[other] in changed or nodes & changed:
                    best[other] = self._best(other)

    def exchange(self, locked: frozenset[Lesson]) -> bool:
        """Give up each lesson in turn for the member's best instead; whether anything gained."""
        better = False
        for lesson in sorted(self.taken - locked):
            lost = self._drop(lesson)
            gain, best = self._best(lesson.member)
            if best is not None and gain > lost:
                better = True
                self._put(best)
            else:
                self._put(lesson)
        return better
