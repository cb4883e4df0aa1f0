"""Tiny random lineup problems for Hypothesis: few lineups, wild rules."""

from __future__ import annotations

from hypothesis import strategies as st

from drill.lineup.core.lessons import Lessons
from drill.lineup.core.problem import (
    Backup,
    Block,
    Lack,
    LineupProblem,
    Member,
    Part,
    Pin,
    Pool,
    Rank,
    Seat,
    Segment,
    Settings,
    Skill,
    Spare,
    Spot,
    Wear,
)

PARTS = (Part("a1", "alpha"), Part("a2", "alpha"), Part("b", "beta"))
RANKS = ("1", "2")
PIECES, SIZES = ("coat", "hat"), ("s", "m", "l")


def lacks(draw: st.DrawFn) -> tuple[Lack, ...]:
    """What one member lacks, each with the sizes that would fit, at times none."""
    return tuple(
        Lack(piece, tuple(s for s in SIZES if draw(st.booleans())))
        for piece in PIECES
        if draw(st.integers(0, 2)) == 2
    )


def wardrobe(
    draw: st.DrawFn, segments: list[str], parts: list[str]
) -> tuple[tuple[Wear, ...], tuple[Spare, ...]]:
    """What is worn where, and what is in store: little enough to be short."""
    wears = tuple(
        Wear(segment, part, piece)
        for segment in segments
        for part in parts
        for piece in PIECES
        if draw(st.integers(0, 3)) > 0
    )
    spares = tuple(
        Spare(piece, size, draw(st.sampled_from((0, 1, 1, 2))))
        for piece in PIECES
        for size in SIZES
        if draw(st.booleans())
    )
    return wears, spares


def _some(draw: st.DrawFn, pool: list[str], most: int) -> list[str]:
    return draw(st.lists(st.sampled_from(pool), max_size=most, unique=True)) if pool else []


@st.composite
def _spots(draw: st.DrawFn) -> tuple[Spot, ...]:
    parts = draw(st.sampled_from(([PARTS[0]], list(PARTS[:2]), list(PARTS))))
    return tuple(
        Spot(
            key=f"{draw(st.sampled_from(RANKS))}-{number}",
            rank=draw(st.sampled_from(RANKS)),
            part=draw(st.sampled_from(parts)).key,
            weight=draw(st.integers(1, 5)),
            needs_experience=draw(st.integers(0, 5)) == 5,
        )
        for number in range(draw(st.integers(2, 6)))
    )


@st.composite
def _member(
    draw: st.DrawFn,
    key: str,
    spot: Spot | None,
    spots: tuple[Spot, ...],
    segments: list[str],
    dresses: bool,
) -> Member:
    """One member; who holds a spot usually, not always, plays its part."""
    parts = set(_some(draw, [part.key for part in PARTS], 2))
    if draw(st.integers(0, 9)) < 9:
        parts.add(draw(st.sampled_from(spots)).part if spot is None else spot.part)
    alternate = spot is None and draw(st.booleans())
    return Member(
        key=key,
        skills=tuple(Skill(part, draw(st.booleans())) for part in sorted(parts)),
        holds=spot.key if spot else None,
        rank=spot.rank if spot else draw(st.sampled_from((*RANKS, None))),
        standing=draw(st.sampled_from((1, 2, 3, 70))) if alternate else None,
        standing_part=draw(st.sampled_from(PARTS)).key if alternate else None,
        experienced=draw(st.booleans()),
        away=frozenset(g for g in segments if draw(st.integers(0, 4)) == 4),
        must_travel=draw(st.integers(0, 7)) == 7,
        marched_percent=draw(st.sampled_from((0, 0, 10, 50, 100))),
        lacks=lacks(draw) if dresses else (),
    )


def _reference(
    draw: st.DrawFn, segments: tuple[Segment, ...], members: tuple[Member, ...]
) -> tuple[tuple[Seat, str], ...]:
    """The holders, or an earlier revision in which anybody marched anything."""
    rows: list[tuple[Seat, str]] = []
    if draw(st.booleans()):
        held = {m.holds: m.key for m in members if m.holds}
        return tuple(((g.key, s), held[s]) for g in segments for s in g.spots if s in held)
    for segment in segments:
        people = draw(st.permutations([*(m.key for m in members), "gone"]))
        rows += [
            ((segment.key, spot), person)
            for spot, person in zip(segment.spots, people, strict=False)
            if draw(st.integers(0, 3)) > 0
        ]
    return tuple(rows)


def _pins(
    draw: st.DrawFn, seats: list[Seat], spots: tuple[Spot, ...], members: tuple[Member, ...]
) -> tuple[Pin, ...]:
    """Mostly none; otherwise one or two, often sound, at times against the rules or each other."""
    parts = {spot.key: spot.part for spot in spots}
    chosen = set()
    for _ in range(draw(st.sampled_from((0, 0, 0, 1, 1, 2)))):
        segment, spot = draw(st.sampled_from(seats))
        sound = [
            m.key
            for m in members
            if segment not in m.away and parts[spot] in {skill.part for skill in m.skills}
        ]
        careless = not sound or draw(st.integers(0, 5)) == 5
        pool = [m.key for m in members] if careless else sound
        chosen.add(Pin(segment, spot, draw(st.sampled_from(pool))))
    return tuple(sorted(chosen))


def _blocks(
    draw: st.DrawFn, segments: list[str], spots: list[str], members: list[str]
) -> list[Block]:
    return [
        Block(
            draw(st.sampled_from(members)),
            draw(st.sampled_from((None, *segments))),
            draw(st.sampled_from((None, *spots))),
        )
        for _ in range(draw(st.sampled_from((0, 0, 1, 2))))
    ]


@st.composite
def tiny_problems(draw: st.DrawFn) -> LineupProblem:
    """2-6 spots, 2-7 members, 1-2 segments, and every kind of rule, contradictory ones too."""
    spots = draw(_spots())
    keys = [spot.key for spot in spots]
    segments = [Segment("g1", tuple(keys))]
    if draw(st.integers(0, 2)) == 2:
        segments.append(Segment("g2", tuple(_some(draw, keys, 6))))
    names = [segment.key for segment in segments]
    held: list[Spot | None] = [*draw(st.permutations(spots)), None, None, None]
    count = draw(st.integers(2, 7))
    vacant = draw(st.integers(0, 2))
    dresses = draw(st.integers(0, 2)) == 2
    wears, spares = wardrobe(draw, names, [p.key for p in PARTS]) if dresses else ((), ())
    members = tuple(
        draw(_member(f"m{i}", spot, spots, names, dresses))
        for i, spot in enumerate(held[vacant : vacant + count])
    )
    people = [member.key for member in members]
    seats = [(segment.key, spot) for segment in segments for spot in segment.spots]
    leaders = [(rank, tuple(_some(draw, [*people, "gone"], 2))) for rank in RANKS]
    pairs = draw(
        st.lists(st.tuples(st.sampled_from(people), st.sampled_from(keys)), max_size=8, unique=True)
    )
    return LineupProblem(
        members=members,
        spots=spots,
        segments=tuple(segments),
        parts=PARTS,
        ranks=tuple(Rank(key, names_) for key, names_ in leaders[: draw(st.integers(0, 2))]),
        reference=_reference(draw, tuple(segments), members),
        pins=_pins(draw, seats, spots, members),
        blocks=tuple(_blocks(draw, names, keys, people)),
        left_open=frozenset(seat for seat in seats if draw(st.integers(0, 11)) == 11),
        backups=tuple(
            Backup(draw(st.sampled_from(keys)), draw(st.sampled_from(people)), order)
            for order in draw(st.lists(st.integers(1, 10), max_size=3, unique=True))
        ),
        relearning=Lessons.of((m, s, draw(st.sampled_from((0, 1, 40, 255)))) for m, s in pairs),
        stock=tuple(
            (kind, draw(st.integers(0, 3)))
            for kind in ("alpha", "beta")
            if draw(st.integers(0, 2)) == 2
        ),
        wears=wears,
        spares=spares,
        travel_limit=draw(st.sampled_from((None, None, None, 2, 4, 5, 6))),
        max_moved=draw(st.sampled_from((None, None, None, 0, 1, 3))),
        settings=Settings(
            use_weights=draw(st.booleans()),
            fairness_before_standing=draw(st.booleans()),
            salt=draw(st.integers(0, 2)),
            pool=draw(st.sampled_from(Pool)),
        ),
    )
