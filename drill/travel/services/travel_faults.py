"""What stands in the way of posting a travel list."""

from __future__ import annotations

from collections.abc import Collection

from drill.events.models import TravelList
from drill.travel.services.marching import Marching


def faults(now: Marching, it: TravelList, along: frozenset[str]) -> tuple[str, ...]:
    """Why the list cannot be posted, each with its names."""
    people, found = now.built.members, []
    limit = now.built.problem.travel_limit
    if not along:
        found.append("Nobody is on it.")
    if limit is not None and len(along) > limit:
        found.append(
            f"{len(along)} people are {len(along) - limit} more than the limit of {limit}. "
            "Take backups off, or change the lineup so fewer march."
        )
    found += [
        f"{now.where(m)}: {people[m]} marches it and is not on the list. "
        "Keep them, or first change the lineup or leave the spot open."
        for m in missing(now, along)
    ]
    found += [
        f"{now.built.segments[g]} {now.built.spots[s]}: the member there can no longer march. "
        "Fill it or leave it open first."
        for g, s in now.emptied
        if (g, s) not in now.built.problem.left_open
    ]
    found += [f"{people[m]} must travel and is not on the list." for m in sorted(now.must - along)]
    pinned = {p.member: p.spot for p in now.built.problem.pins if p.member not in along}
    found += [
        f"{people[m]} is pinned to {now.built.spots[spot]} and is not on the list."
        for m, spot in sorted(pinned.items())
        if m not in now.spots
    ]
    gone = it.travellers.exclude(member__in=[m.pk for m in people.values()])
    found += [f"{t.member} is no longer active." for t in gone.select_related("member__person")]
    return tuple(found)


def missing(now: Marching, along: Collection[str]) -> list[str]:
    """Marchers of performing spots who are not on the list, by spot."""
    order = {spot: n for n, spot in enumerate(now.built.spots)}
    absent = [m for m in now.spots if m not in along]
    return sorted(absent, key=lambda m: min(order[spot] for spot in now.spots[m]))
