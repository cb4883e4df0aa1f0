"""What changes when a member is put on a seat, or two change places: seats and nothing else."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from drill.lineup.core.problem import Seat

Seats = Mapping[Seat, str | None]
"""seat -> who stands there"""


def put(seats: Seats, seat: Seat, member: str | None) -> dict[Seat, str | None]:
    """The seats that change when the member takes the seat: theirs opens, and who stood there
    stands nowhere in the segment. Nothing where they stand there already."""
    if seats.get(seat) == member:
        return {}
    left = stands_at(seats, seat[0], member) if member else None
    return ({left: None} if left else {}) | {seat: member}


def swap(
    seats: Seats, first: str, second: str, segments: Collection[str]
) -> dict[Seat, str | None]:
    """The seats that change when two change places in the segments. Where only one of them
    stands, the other takes that seat."""
    if first == second:
        return {}
    other = {first: second, second: first}
    return {
        seat: other[member]
        for seat, member in seats.items()
        if seat[0] in segments and member is not None and member in other
    }


def stands_at(seats: Seats, segment: str, member: str) -> Seat | None:
    """The member's seat in the segment."""
    return next((s for s, who in seats.items() if s[0] == segment and who == member), None)
