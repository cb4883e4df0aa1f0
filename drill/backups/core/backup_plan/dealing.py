"""Plain ways to deal lessons, for comparison: what a band does by hand."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable

from drill.backups.core.backup_plan.scenarios import Event, Place
from drill.backups.core.coverage.result import Lesson
from drill.field.core.ordering import natural
from drill.lineup.core.problem import Pool

UNRANKED = 1 << 30


def plain(event: Event, each: int, locked: frozenset[Lesson]) -> tuple[Lesson, ...]:
    """Alternates in order of their standing each learn the first spots of their pool and part
    that nobody waiting knows or has learnt; where too few are left, those that fewest have."""
    learnt = _learnt(event, locked)
    dealt = set(locked)
    for member in sorted(event.may_learn, key=lambda m: (_standing(event, m), m)):
        own = {p for p in event.may_learn[member] if _is_own(event, member, p)}
        spots = sorted({spot for spot, _ in own}, key=natural)
        left = each - sum(lesson.member == member for lesson in dealt)
        free = [s for s in spots if Lesson(member, s) not in dealt]
        for spot in sorted(free, key=lambda s: learnt[s])[: max(left, 0)]:
            dealt.add(Lesson(member, spot))
            learnt[spot] += 1
    return tuple(sorted(dealt))


def by_risk(event: Event, each: int, locked: frozenset[Lesson]) -> tuple[Lesson, ...]:
    """Spots by the chance that their member is out, each to the alternate with fewest lessons so
    far (the own pool's first), round after round while anybody has time."""
    dealt = set(locked)
    busy = Counter(lesson.member for lesson in locked)
    able: dict[Place, list[str]] = {}
    for member, places in event.may_learn.items():
        for place in places:
            able.setdefault(place, []).append(member)
    ordered = sorted(able, key=lambda p: (-event.chances[p[1]], natural(p[0]), p))
    changed = True
    while changed:
        changed = False
        for place in ordered:
            free = [m for m in able[place] if busy[m] < each and Lesson(m, place[0]) not in dealt]
            if free:
                rank = event.spots[place[0]].rank
                member = min(
                    free,
                    key=lambda m: (
                        busy[m],
                        event.pool is Pool.RANK and event.members[m].rank != rank,
                        _standing(event, m),
                        m,
                    ),
                )
                dealt.add(Lesson(member, place[0]))
                busy[member] += 1
                changed = True
    return tuple(sorted(dealt))


def _learnt(event: Event, locked: Iterable[Lesson]) -> Counter[str]:
    """Spot -> how many know it beside who marches it."""
    known = Counter(spot for places in event.knows.values() for spot in {s for s, _ in places})
    return known + Counter(lesson.spot for lesson in locked)


def _standing(event: Event, member: str) -> int:
    standing = event.members[member].standing
    return UNRANKED if standing is None else standing


def _is_own(event: Event, member: str, place: Place) -> bool:
    who, spot = event.members[member], event.spots[place[0]]
    near = event.pool is not Pool.RANK or who.rank == spot.rank
    return near and who.standing_part in (None, spot.part)
