"""The answers of one segment with stock and travel looked at."""

from __future__ import annotations

from dataclasses import replace

from drill.backups.core.coverage.again import Again, moves_from
from drill.backups.core.coverage.ground import NOBODY, Ground
from drill.backups.core.coverage.result import (
    Answer,
    Limiting,
    Move,
    SegmentCoverage,
    SpotCoverage,
    State,
    Support,
)
from drill.backups.core.coverage.segment import SegmentAnswers
from drill.backups.core.coverage.side_rules import Chain


def with_rules(
    here: SegmentAnswers, again: Again, segments: list[SegmentAnswers]
) -> SegmentCoverage:
    """A segment's answers; where the side rules do not bear a chain, the lineup is solved again."""
    ground = here.ground
    tainted = here.rules.tainted(here.seats, here.classes)
    coupled = {s for s in here.seats.tolist() if here.rules.travel_could_bind(s)}
    spots = []
    for seat in here.seats.tolist():
        row = _spot(here, seat, again, segments)
        risky = here.classes.of_seat[seat] in tainted and len(row.direct) < 2
        spots.append(replace(row, exact=False) if _open_to(row, risky or seat in coupled) else row)
    supports: dict[str, list[str]] = {}
    for row in spots:
        for member in row.hangs_on:
            supports.setdefault(member, []).append(row.spot)
    ordered = sorted(supports.items(), key=lambda item: (-len(item[1]), item[0]))
    binding = ((Limiting.STOCK, tainted), (Limiting.TRAVEL, coupled))
    return SegmentCoverage(
        ground.problem.segments[here.number].key,
        tuple(spots),
        tuple(Support(member, tuple(hanging)) for member, hanging in ordered),
        tuple(rule for rule, where in binding if where),
    )


def _open_to(row: SpotCoverage, risky: bool) -> bool:
    return risky and row.state in (State.SAFE, State.THIN)


def _spot(
    here: SegmentAnswers, seat: int, again: Again, segments: list[SegmentAnswers]
) -> SpotCoverage:
    ground, number = here.ground, here.classes.of_seat[seat]
    names = ground.arcs.people.keys
    member = int(ground.occupant[seat])
    if member == NOBODY:
        return SpotCoverage(ground.spot(seat), None, State.HOLE)
    if not here.reached(seat):
        return SpotCoverage(ground.spot(seat), ground.name(member), State.BARE)
    hangs_on = here.classes.hangs_on[number]
    chain = here.chain(seat)
    moves = _moves(ground, chain or here.shortest(seat))
    row = SpotCoverage(
        ground.spot(seat),
        ground.name(member),
        State.THIN if hangs_on else State.SAFE,
        Answer.DIRECT if len(moves) == 1 else Answer.CHAIN,
        moves,
        here.classes.answers[number],
        tuple([names[m] for m in here.direct.get(seat, ())]),
        tuple([names[m] for m in hangs_on]),
    )
    if chain is not None and _travel_fits(member, segments):
        return row
    return _solved_again(row, here, seat, again)


def _moves(ground: Ground, chain: Chain) -> tuple[Move, ...]:
    left = [ground.spot(place) for _, place in chain[1:]]
    names = ground.arcs.people.keys
    return tuple(
        [
            Move(names[member], source, ground.spot(place))
            for (member, place), source in zip(chain, (*left, None), strict=True)
        ]
    )


def _travel_fits(member: int, segments: list[SegmentAnswers]) -> bool:
    """Whether travel bears those who step in, in all segments, when the member drops out."""
    if segments[0].ground.problem.travel_limit is None:
        return True
    chains = [
        segment.chain(segment.left[member]) or segment.shortest(segment.left[member])
        for segment in segments
        if member in segment.left and segment.reached(segment.left[member])
    ]
    return segments[0].rules.travel_fits(member, [chain[-1][0] for chain in chains])


def _solved_again(row: SpotCoverage, here: SegmentAnswers, seat: int, again: Again) -> SpotCoverage:
    member = int(here.ground.occupant[seat])
    if here.rules.surely_too_many(member):
        return SpotCoverage(row.spot, row.member, State.BARE, rule=Limiting.TRAVEL)
    solved = again.without(member, here.number)
    if solved.rule is not None:
        return SpotCoverage(row.spot, row.member, State.BARE, rule=solved.rule, exact=solved.proven)
    moves = moves_from(here.ground, seat, solved.stands)
    answer = Answer.DIRECT if len(moves) == 1 else Answer.CHAIN
    return replace(row, answer=answer, moves=moves)
