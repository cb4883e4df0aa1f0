"""The lineup problem as plain data: what the solver, the checker and the explanations all read.

A *seat* is one spot in one segment. Keys are strings made by the caller (``"4-11"``,
``"halftime"``); equal problems, in whatever row order, have the same ``problem_hash``.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, field, replace
from enum import IntEnum, StrEnum

from drill.lineup.core.lessons import Lessons

Seat = tuple[str, str]
"""(segment key, spot key)"""

MAX_MARCHED_PERCENT = 100
MAX_RELEARNING = 255
MAX_STANDING = 63
MAX_BACKUP_ORDER = 8


class Level(IntEnum):
    """The objective levels, strictly in order: a later one never costs an earlier one anything."""

    HOLES = 1
    LEADERLESS = 2
    MOVED = 3
    SPLIT = 4
    STANDING = 5
    RELEARNING = 6
    FAIRNESS = 7
    TIE = 8


class Pool(StrEnum):
    """Among whom the alternates of one part have their standing.

    A section is the players of one instrument, to which every part belongs: as long as that is
    so, its pools and the whole band's hold the same alternates.
    """

    RANK = "rank"
    SECTION = "section"
    BAND = "band"


class Origin(StrEnum):
    """How a seat got its member."""

    HOLDS = "holds"
    STANDS_IN = "stands in"
    PINNED = "pinned"
    LEFT_OPEN = "left open"
    HOLE = "hole"


@dataclass(frozen=True, slots=True, order=True)
class Part:
    """A line of the music; ``instrument`` names the kind that the school's stock is counted in."""

    key: str
    instrument: str


@dataclass(frozen=True, slots=True, order=True)
class Skill:
    """A qualification: the member may march spots of this part."""

    part: str
    own_instrument: bool = False


@dataclass(frozen=True, slots=True, order=True)
class Lack:
    """A kind of piece that a member has none of, and the sizes of spare pieces they could wear."""

    kind: str
    fits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Wear:
    """What whoever marches a part in a segment has to wear."""

    segment: str
    part: str
    kind: str


@dataclass(frozen=True, slots=True, order=True)
class Spare:
    """Pieces of one kind and size that are in store."""

    kind: str
    size: str
    count: int


@dataclass(frozen=True, slots=True)
class Member:
    """One member. ``away`` holds the segments in which they cannot march, whatever the reason.

    ``standing`` is an alternate's among those of ``standing_part`` in their pool; ``rank`` is
    where they hold a spot or stand by.
    ``marched_percent`` is the percentage (0-100) of open opportunities in which they marched.
    """

    key: str
    skills: tuple[Skill, ...]
    holds: str | None = None
    rank: str | None = None
    standing: int | None = None
    standing_part: str | None = None
    experienced: bool = False
    away: frozenset[str] = frozenset()
    must_travel: bool = False
    marched_percent: int = 0
    lacks: tuple[Lack, ...] = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """One position of the drill: ``weight`` 1-5 counts only where ``Settings.use_weights`` says
    so."""

    key: str
    rank: str
    part: str
    weight: int = 1
    needs_experience: bool = False


@dataclass(frozen=True, slots=True)
class Segment:
    """A part of the event with the spots that march in it."""

    key: str
    spots: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Rank:
    """A rank and its leader and assistant leader, either of whom should be on the field."""

    key: str
    leaders: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, order=True)
class Pin:
    """Staff's order that this member marches this seat."""

    segment: str
    spot: str
    member: str


@dataclass(frozen=True, slots=True)
class Block:
    """Staff's order that this member does not march; None means every segment, every spot."""

    member: str
    segment: str | None = None
    spot: str | None = None


@dataclass(frozen=True, slots=True, order=True)
class Backup:
    """A member named in readiness for a spot; order 1 is the first backup."""

    spot: str
    member: str
    order: int


@dataclass(frozen=True, slots=True)
class Settings:
    """Choices of the band that change what the levels mean."""

    use_weights: bool = False
    fairness_before_standing: bool = False
    salt: int = 0
    pool: Pool = Pool.RANK


@dataclass(frozen=True, slots=True)
class LineupProblem:
    """Everything that decides one event's lineup.

    ``reference`` is the last published revision of the event, else the holders: seat -> member.
    ``relearning`` gives what spots ask of members, 0-255; missing pairs cost nothing.
    ``stock`` counts the school's instruments of a kind; a kind not named is not limited.
    ``wears`` says what a seat asks its member to wear; who lacks it takes one of the ``spares``,
    the same for all segments.
    ``max_moved`` bounds how many available members may leave their reference seat in each
    segment (what-ifs).
    """

    members: tuple[Member, ...]
    spots: tuple[Spot, ...]
    segments: tuple[Segment, ...]
    parts: tuple[Part, ...]
    ranks: tuple[Rank, ...] = ()
    reference: tuple[tuple[Seat, str], ...] = ()
    pins: tuple[Pin, ...] = ()
    blocks: tuple[Block, ...] = ()
    left_open: frozenset[Seat] = frozenset()
    backups: tuple[Backup, ...] = ()
    relearning: Lessons = field(default_factory=Lessons)
    stock: tuple[tuple[str, int], ...] = ()
    wears: tuple[Wear, ...] = ()
    spares: tuple[Spare, ...] = ()
    travel_limit: int | None = None
    max_moved: int | None = None
    settings: Settings = field(default_factory=Settings)


@dataclass(frozen=True, slots=True)
class Placement:
    """Who marches a seat, or why nobody does."""

    segment: str
    spot: str
    member: str | None
    origin: Origin


def couples(problem: LineupProblem) -> bool:
    """Whether segments hang together: by a travel limit, or by spares that are worn in all."""
    return problem.travel_limit is not None or any(m.lacks for m in problem.members)


def of_segment(problem: LineupProblem, segment: str) -> LineupProblem:
    """The problem of one segment alone; the same problem where something couples them."""
    return problem if couples(problem) else of_segments(problem, {segment})


def of_segments(problem: LineupProblem, segments: Collection[str]) -> LineupProblem:
    """The problem of some of its segments."""
    return replace(
        problem,
        segments=tuple(g for g in problem.segments if g.key in segments),
        reference=tuple(r for r in problem.reference if r[0][0] in segments),
        pins=tuple(p for p in problem.pins if p.segment in segments),
        left_open=frozenset(seat for seat in problem.left_open if seat[0] in segments),
    )
