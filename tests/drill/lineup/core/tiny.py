"""Tiny lineup problems, written like tables."""

from __future__ import annotations

from collections.abc import Iterable

from drill.lineup.core.problem import LineupProblem, Member, Part, Segment, Skill, Spot

SEGMENT = "half"


def section(
    spots: Iterable[str],
    plays: dict[str, Iterable[str]],
    *,
    away: Iterable[str] = (),
    alternates: Iterable[str] = (),
    stock: tuple[tuple[str, int], ...] = (),
    travel_limit: int | None = None,
) -> LineupProblem:
    """One rank in which every spot is a part of its own: ``plays`` lists the spots a member knows.

    The first spot a member plays is the one they hold, unless they are an alternate.
    """
    names = tuple(spots)
    gone, waiting = set(away), list(alternates)
    members = []
    reference = []
    for name, known in plays.items():
        knows = tuple(known)
        holds = None if name in waiting else knows[0]
        if holds:
            reference.append(((SEGMENT, holds), name))
        members.append(
            Member(
                name,
                tuple(Skill(spot) for spot in knows),
                holds=holds,
                rank="1",
                standing=waiting.index(name) + 1 if name in waiting else None,
                standing_part=knows[0] if name in waiting and knows else None,
                away=frozenset({SEGMENT} if name in gone else ()),
            )
        )
    return LineupProblem(
        members=tuple(members),
        spots=tuple(Spot(s, "1", s) for s in names),
        segments=(Segment(SEGMENT, names),),
        parts=tuple(Part(s, "horn") for s in names),
        reference=tuple(reference),
        stock=stock,
        travel_limit=travel_limit,
    )


def thin_section(away: Iterable[str] = ()) -> LineupProblem:
    """Four spots; Quinn also knows S3, Xen knows S1 and S2, Yve S2."""
    return section(
        ["S1", "S2", "S3", "S4"],
        {
            "Quinn": ["S1", "S3"],
            "Rosa": ["S2"],
            "Theo": ["S3"],
            "Uma": ["S4"],
            "Xen": ["S1", "S2"],
            "Yve": ["S2"],
        },
        away=away,
        alternates=["Xen", "Yve"],
    )
