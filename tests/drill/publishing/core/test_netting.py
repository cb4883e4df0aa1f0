"""What several notices of one member come to, by the newest revision."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from drill.publishing.core.netting import net

ME, OTHER = "1", "2"
Seats = dict[tuple[str, str], str | None]


def own(*steps: tuple[str, str | None, str | None]) -> list[dict[str, Any]]:
    return [{"changes": [[*step[:1], "", *step[1:]]]} for step in steps]


def test_one_notice_stays_as_it_is() -> None:
    content = {
        "changes": [["g", "moves", "a", "b"]],
        "sets": [["g", "b", "4", 12.0]],
        "stand_by": [["h", "c", OTHER]],
        "rank": [["g", OTHER, "steps in", None, "c"]],
    }
    seats: Seats = {("g", "b"): ME, ("h", "c"): OTHER, ("g", "c"): OTHER}
    assert {k: v for k, v in net([content], ME, seats).items() if v} == content


def test_what_is_taken_back_is_said_once() -> None:
    told = net(own(("g", "a", "b"), ("g", "b", "a")), ME, {("g", "a"): ME, ("g", "b"): None})
    assert (told["changes"], told["no_longer"]) == ([], [["g", ["b"], "a", True]])


def test_a_way_by_another_spot_is_one_change() -> None:
    told = net(own(("g", "a", "b"), ("g", "b", "c")), ME, {("g", "c"): ME})
    assert told["changes"] == [["g", "moves", "a", "c"]]
    assert told["no_longer"] == [["g", ["b"], "c", False]]


def test_sets_of_a_spot_that_others_march_by_now_are_left_out() -> None:
    contents = [
        {"sets": [["g", "a", "1", 3.0], ["g", "b", "1", 4.0]]},
        {"sets": [["g", "b", "1", 5.0]]},
    ]
    assert net(contents, ME, {("g", "a"): OTHER, ("g", "b"): ME})["sets"] == [["g", "b", "1", 5.0]]


def test_who_marches_by_now_does_not_stand_by() -> None:
    contents = [{"stand_by": [["g", "a", OTHER], ["h", "a", OTHER]]}]
    seats: Seats = {("g", "b"): ME, ("g", "a"): OTHER, ("h", "a"): None}
    assert net(contents, ME, seats)["stand_by"] == [["h", "a", None]], "and who marches it now"


@given(st.lists(st.sampled_from((None, "a", "b", "c")), min_size=2, max_size=6))
def test_a_slip_says_where_its_member_stands(way: list[str | None]) -> None:
    steps = [("g", one, two) for one, two in pairwise(way) if one != two]
    seats: Seats = {("g", spot): ME if spot == way[-1] else None for spot in ("a", "b", "c")}
    told = net(own(*steps), ME, seats)
    assert [row[2:] for row in told["changes"]] == (
        [[way[0], way[-1]]] if way[0] != way[-1] else []
    )
    assert all(way[-1] not in row[1] and row[2] == way[-1] for row in told["no_longer"])
