"""The answers of one segment with stock, travel and spare pieces looked at."""

from __future__ import annotations

from dataclasses import replace

from drill.backups.core.coverage.again import Again, moves_from
from drill.backups.core.coverage.ground import NOBODY
from drill.backups.core.coverage.result import (
    Answer,
    Limiting,
    SegmentCoverage,
    SpotCoverage,
    State,
    Support,
)
from drill.backups.core.coverage.segment import SegmentAnswers


def with_rules(
    here: SegmentAnswers, again: Again, segments: list[SegmentAnswers]
) -> SegmentCoverage:
    """A segment's answers; where the side rules do not bear a chain, the lineup is solved again."""
    tainted = here.rules.tainted(here.seats, here.classes)
    coupled = here.rules.travel_could_bind(here.seats)
    spots = _spots(here, again, segments)
    if tainted or coupled:
        spots = [
            _open_to(row, here.classes.of_seat[seat] in tainted, seat in coupled)
            for row, seat in zip(spots, here.seats.tolist(), strict=True)
        ]
    supports: dict[str, list[str]] = {}
    for row in spots:
        for member in row.hangs_on:
            supports.setdefault(member, []).append(row.spot)
    ordered = sorted(supports.items(), key=lambda item: (-len(item[1]), item[0]))
    binding = (
        (Limiting.STOCK, tainted if here.rules.stock else ()),
        (Limiting.TRAVEL, coupled),
        (Limiting.DRESS, here.rules.wardrobe.contested),
    )
    return SegmentCoverage(
        here.ground.problem.segments[here.number].key,
        tuple(spots),
        tuple(Support(member, tuple(hanging)) for member, hanging in ordered),
        tuple(rule for rule, where in binding if where),
    )


def _open_to(row: SpotCoverage, tainted: bool, coupled: bool) -> SpotCoverage:
    """The row as one that a second absence could make worse, where it could."""
    risky = coupled or (tainted and len(row.direct) < 2)
    return replace(row, exact=False) if risky and row.state in (State.SAFE, State.THIN) else row


def _spots(
    here: SegmentAnswers, again: Again, segments: list[SegmentAnswers]
) -> list[SpotCoverage]:
    """What answers each seat's absence."""
    names, keys, classes = here.ground.arcs.people.keys, here.ground.spots, here.classes
    hangs = {
        number: tuple([names[m] for m in members]) for number, members in classes.hangs_on.items()
    }
    limited = here.ground.problem.travel_limit is not None or here.rules.wardrobe.contested
    rows = []
    for seat, member in zip(here.seats.tolist(), here.occupants, strict=True):
        spot, number = keys[seat], classes.of_seat[seat]
        if member == NOBODY:
            rows.append(SpotCoverage(spot, None, State.HOLE))
            continue
        if number not in hangs:
            rows.append(SpotCoverage(spot, names[member], State.BARE))
            continue
        chain = here.chain(seat)
        moves = tuple([here.moves[step] for step in chain or here.shortest(seat)])
        row = SpotCoverage(
            spot,
            names[member],
            State.THIN if hangs[number] else State.SAFE,
            Answer.DIRECT if len(moves) == 1 else Answer.CHAIN,
            moves,
            classes.answers[number],
            tuple([names[m] for m in here.direct.get(seat, ())]),
            hangs[number],
        )
        fits = chain is not None and (not limited or _joint_fits(member, segments))
        rows.append(row if fits else _solved_again(row, here, seat, again))
    return rows


def _joint_fits(member: int, segments: list[SegmentAnswers]) -> bool:
    """Whether travel and spare pieces bear those who step in, in all segments, when the member
    drops out."""
    chains = [
        segment.chain(segment.left[member]) or segment.shortest(segment.left[member])
        for segment in segments
        if member in segment.left and segment.reached(segment.left[member])
    ]
    rules = segments[0].rules
    stepping_in = [chain[-1][0] for chain in chains]
    return rules.travel_fits(member, stepping_in) and rules.wardrobe.bears(member, chains)


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
