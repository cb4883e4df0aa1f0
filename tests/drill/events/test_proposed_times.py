"""Usual times for segments without any."""

from __future__ import annotations

import datetime

import pytest

from drill.events.core.proposed_times import Slot, proposed_times

AT = datetime.time


def spans(*slots: Slot, call: AT | None = None, start: AT | None = None) -> list[str]:
    found = proposed_times(slots, call, start, rehearsal=False)
    return [f"{starts:%H:%M}-{ends:%H:%M}" for starts, ends in found]


def test_segments_of_one_kind_follow_each_other() -> None:
    assert spans(Slot("parade"), Slot("parade"), call=AT(9)) == ["10:00-11:00", "11:05-12:05"]


def test_a_timed_segment_tells_the_others() -> None:
    timed = Slot("pregame", AT(18, 40), AT(18, 50))
    assert spans(Slot("halftime"), timed) == ["20:20-20:40", "18:40-18:50"]
    assert spans(Slot("halftime", AT(16)), Slot("stands", AT(16, 10), AT(17))) == [
        "16:00-16:20", "16:10-17:00",
    ]  # fmt: skip


@pytest.mark.parametrize("minute", range(0, 24 * 60, 37))
def test_every_proposal_can_be_stored(minute: int) -> None:
    kinds = ("duty", "pregame", "halftime", "stands", "parade", "parade", "")
    start = AT(minute // 60, minute % 60)
    for begins, ends in proposed_times([Slot(k) for k in kinds], None, start, rehearsal=False):
        assert ends > begins or (begins >= AT(12) and ends <= AT(12))
