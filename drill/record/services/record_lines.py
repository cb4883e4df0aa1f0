"""A sheet of turns line by line, as its page shows it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass

from drill.events.models import Segment
from drill.record.core.record import Outcome
from drill.record.enums import RecordOutcome
from drill.record.services.record_sheet import Cell, Choice, Sheet
from drill.rehearsals.core.presence import Presence
from drill.rehearsals.services.presence import presence_word
from roster.people.models import Member, Season
from roster.ranks import queries as rank_queries
from roster.ranks.models import Spot

# The page on which staff confirm


@dataclass(frozen=True)
class Option:
    """One thing a member may have done."""

    value: str
    label: str
    chosen: bool


@dataclass(frozen=True)
class SheetCell:
    """A member in a segment on the page."""

    name: str
    segment: Segment
    changed: bool
    options: tuple[Option, ...]


@dataclass(frozen=True)
class Group:
    """A rank on the page, or those without one, with the ids of its members."""

    key: str
    label: str
    members: frozenset[int]


def group_list(season: Season, ranks: Mapping[int, int | None]) -> list[Group]:
    """The ranks that have members here, in their order; those without one come last."""
    labels: list[tuple[int | None, str]] = [(r.pk, str(r)) for r in rank_queries.ranks(season)]
    found = []
    for pk, label in [*labels, (None, "No rank")]:
        inside = frozenset(m for m, rank in ranks.items() if rank == pk)
        if inside:
            found.append(Group(str(pk or "none"), label, inside))
    return found


def exceptions(it: Sheet, chosen: Mapping[Cell, Choice]) -> dict[Cell, Choice]:
    """What differs from the first guess."""
    return {c: choice for c, choice in chosen.items() if it.guesses.get(c) not in (None, choice)}


def tally(it: Sheet, chosen: Mapping[Cell, Choice]) -> list[tuple[Segment, list[tuple[str, int]]]]:
    """How many did what in each segment, as the sheet stands."""
    now = dict(it.guesses) | dict(chosen)
    found = []
    for segment in it.segments:
        counts = Counter(c.outcome for (g, _), c in now.items() if g == segment.pk)
        found.append((segment, [(RecordOutcome(o).label, counts[o]) for o in Outcome]))
    return found


def attendance_tally(it: Sheet) -> list[tuple[str, int]]:
    """How many of those who march or have a place are noted as what; 'not noted' for the rest."""
    asked = {member for _, member in it.placed} | {pk for pk, rank in it.ranks.items() if rank}
    words = Counter(presence_word(it.noted.get(pk, Presence())) or "not marked" for pk in asked)
    return sorted(words.items())


def lines(
    it: Sheet, group: Group, chosen: Mapping[Cell, Choice]
) -> list[tuple[Member, str, list[SheetCell]]]:
    """A group's members, each with what the attendance says and a cell a segment."""
    spots = list(rank_queries.spots(it.event.season))
    now = dict(it.guesses) | dict(chosen)
    taken = {(segment, choice.spot) for (segment, _), choice in now.items() if choice.spot}
    return [
        (
            member,
            presence_word(it.noted.get(pk, Presence())),
            [
                _cell(it, s, member, _near(it, s, member, spots, group, taken), now)
                for s in it.segments
            ],
        )
        for pk, member in it.members.items()
        if pk in group.members
    ]


def _near(
    it: Sheet,
    segment: Segment,
    member: Member,
    spots: list[Spot],
    group: Group,
    taken: set[tuple[int, int]],
) -> list[Spot]:
    """The spots a member may well have marched: of their parts, the rank's own and any free one."""
    plays = {q.part_id for q in member.skills}  # type: ignore[attr-defined]
    return [
        s
        for s in spots
        if s.part_id in plays
        and (str(s.rank_id) == group.key or (segment.pk, s.pk) not in taken)
        and s != it.placed.get((segment.pk, member.pk))
    ]


def _cell(
    it: Sheet, segment: Segment, member: Member, near: list[Spot], now: Mapping[Cell, Choice]
) -> SheetCell:
    """Their own place first, then the rest, then other spots."""
    cell = segment.pk, member.pk
    own = it.placed.get(cell)
    choices = [(Choice(Outcome.MARCHED, own.pk), f"marched {own}")] if own else []
    others = [o for o in Outcome if o is not Outcome.MARCHED]
    choices += [(Choice(o), RecordOutcome(o).label) for o in others]
    choices += [(Choice(Outcome.MARCHED, s.pk), f"marched {s}") for s in near]
    if now[cell] not in [choice for choice, _ in choices]:
        choices.append((now[cell], "marched another spot"))
    options = tuple(Option(c.value, label, c == now[cell]) for c, label in choices)
    return SheetCell(name_of(cell), segment, now[cell] != it.guesses[cell], options)


def name_of(cell: Cell) -> str:
    """The cell's name in forms."""
    return f"t-{cell[0]}-{cell[1]}"
