"""Who is doubtful for an event, how likely they are to be out, and how the season plans them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from bandops.lib.keys import key
from drill.absences.core.availability import Standing, State
from drill.absences.services.standings import segment_slots, standings
from drill.events.models import Event, Segment
from roster.people.models import Member


@dataclass(frozen=True)
class Doubtful:
    """``chance`` is that of being out, for staff only; ``is_out`` when they are planned as out."""

    member: Member
    chance: Decimal
    segments: tuple[Segment, ...]
    is_out: bool

    @property
    def percent(self) -> str:
        return f"{round(self.chance * 100)}%"

    @property
    def where(self) -> str:
        return ", ".join(segment.name for segment in self.segments)


def doubtful_at(
    event: Event, members: Iterable[Member], along: Collection[int] | None
) -> list[Doubtful]:
    """The doubtful of some members, of those who come along; None where all do."""
    people = [m for m in members if along is None or m.pk in along]
    segments = list(event.segments.all())
    return doubtful_of(event, people, standings(event, segment_slots(event, segments), people))


def doubtful_of(
    event: Event, members: Iterable[Member], at: Mapping[tuple[str, str], Standing]
) -> list[Doubtful]:
    """The same by standings that are known; only segments that march count."""
    marching = [segment for segment in event.segments.all() if segment.marches]
    out_from = event.season.doubtful_out_from
    found = []
    for member in members:
        here = [(s, at.get((key(member.pk), key(s.pk)), Standing())) for s in marching]
        doubts = [(s, standing) for s, standing in here if standing.state is State.DOUBTFUL]
        if doubts:
            chance = max(standing.chance for _, standing in doubts)
            segments = tuple(segment for segment, _ in doubts)
            found.append(Doubtful(member, chance, segments, chance >= out_from))
    return found
