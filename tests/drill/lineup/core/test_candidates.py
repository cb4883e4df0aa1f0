"""Who could take a seat of the lineup on the page, and what each button would do there."""

from __future__ import annotations

from dataclasses import replace

from drill.lineup.core import exchanges
from drill.lineup.core.candidates import Candidate, candidates
from drill.lineup.core.changes import Change, MemberChange
from drill.lineup.core.problem import Block, Level, Seat, Segment
from drill.lineup.core.rules import WhyNot
from tests.drill.lineup.core.tiny import SEGMENT, thin_section

HELD: dict[Seat, str | None] = {
    (SEGMENT, f"S{n}"): m for n, m in enumerate(("Quinn", "Rosa", "Theo", "Uma"), 1)
}


def of(found: tuple[Candidate, ...], member: str) -> Candidate:
    return next(c for c in found if c.member == member)


def test_candidates_come_nearest_first_and_others_with_their_reason() -> None:
    seats = HELD | {(SEGMENT, "S2"): "Yve"}
    found = candidates(thin_section(away=["Rosa"]), seats, (SEGMENT, "S2"))
    assert [c.member for c in found if not c.why_not] == ["Yve", "Xen"]
    assert found[0].put is None, "who stands there already is not put there"
    assert {c.member: c.why_not for c in found if c.why_not} == {"Rosa": (WhyNot.AWAY,)}


def test_the_lineup_on_the_page_is_described_and_not_the_best_one() -> None:
    """By the solver's answer Quinn stands at S1; on the page Quinn stands at S3, and S1 is open."""
    seats: dict[Seat, str | None] = HELD | {
        (SEGMENT, "S3"): "Quinn",
        (SEGMENT, "S1"): None,
    }
    quinn = of(candidates(thin_section(), seats, (SEGMENT, "S1")), "Quinn")
    assert quinn.stands_at == "S3"
    assert quinn.put is not None
    assert quinn.put.opens == ((SEGMENT, "S3"),)
    assert quinn.put.changes == (MemberChange(SEGMENT, "Quinn", Change.MOVES, "S3", "S1"),)


def test_putting_somebody_there_costs_what_it_does_to_the_page() -> None:
    """Quinn leaves S1 open and Theo stands nowhere: one more hole."""
    quinn = of(candidates(thin_section(), HELD, (SEGMENT, "S3")), "Quinn")
    assert quinn.put is not None and quinn.put.price is not None
    assert {(c.member, c.change) for c in quinn.put.changes} == {
        ("Quinn", Change.MOVES),
        ("Theo", Change.STEPS_OUT),
    }
    assert quinn.put.price[0] == (Level.HOLES, 1)


def test_a_swap_is_offered_where_both_may_march_the_others_spot() -> None:
    """Theo does not march S1."""
    assert of(candidates(thin_section(), HELD, (SEGMENT, "S3")), "Quinn").swap is None
    knows = replace(
        thin_section(),
        spots=tuple(replace(s, part="S") for s in thin_section().spots),
        members=tuple(
            replace(m, skills=tuple(replace(k, part="S") for k in m.skills))
            for m in thin_section().members
        ),
    )
    swap = of(candidates(knows, HELD, (SEGMENT, "S3")), "Quinn").swap
    assert swap is not None and swap.opens == ()
    assert {(c.member, c.after) for c in swap.changes} == {("Quinn", "S3"), ("Theo", "S1")}
    assert swap.price is not None and swap.price[0][0] is Level.MOVED
    other = replace(knows, segments=(*knows.segments, Segment("other", ("S1", "S3"))))
    both = HELD | {("other", "S1"): "Quinn", ("other", "S3"): "Theo"}
    every = of(candidates(other, both, (SEGMENT, "S3")), "Quinn").swap_all
    assert every is not None
    assert {c.segment for c in every.changes} == {SEGMENT, "other"}
    barred = replace(other, blocks=(Block("Theo", "other", "S1"),))
    assert of(candidates(barred, both, (SEGMENT, "S3")), "Quinn").swap_all is None


def test_where_one_of_two_stands_the_other_takes_the_seat() -> None:
    seats: dict[Seat, str | None] = {("a", "1"): "x", ("b", "2"): "y", ("c", "1"): "x"}
    assert exchanges.swap(seats, "x", "y", {"a", "b"}) == {("a", "1"): "y", ("b", "2"): "x"}
    assert exchanges.swap(seats, "x", "x", {"a", "b"}) == {}


def test_who_is_put_leaves_their_seat_in_that_segment_alone() -> None:
    seats: dict[Seat, str | None] = {
        ("a", "1"): "x",
        ("a", "2"): "y",
        ("b", "1"): "x",
    }
    assert exchanges.put(seats, ("a", "2"), "x") == {("a", "1"): None, ("a", "2"): "x"}
    assert exchanges.put(seats, ("a", "1"), "x") == {}
    assert exchanges.put(seats, ("a", "1"), None) == {("a", "1"): None}
