"""When something was made that a phone told of later."""

from __future__ import annotations

import datetime

from hypothesis import given
from hypothesis import strategies as st

from bandops.lib.dates import LONGEST_WAIT, RIGHT, made_at

ARRIVED = datetime.datetime(2026, 10, 17, 15, 0, tzinfo=datetime.UTC)
MINUTES = st.integers(0, 7 * 24 * 60).map(lambda n: datetime.timedelta(minutes=n))
WRONG = (
    st.integers(-(10**6), 10**6)
    .filter(lambda n: abs(n) > 2)
    .map(lambda n: datetime.timedelta(minutes=n))
)


@given(waited=MINUTES, wrong=WRONG)
def test_a_clock_that_is_wrong_does_no_harm(
    waited: datetime.timedelta, wrong: datetime.timedelta
) -> None:
    sent = ARRIVED + wrong
    assert made_at(sent - waited, sent, ARRIVED) == ARRIVED - waited


@given(waited=MINUTES, late=st.integers(0, 100))
def test_one_phone_keeps_its_order_however_long_each_takes(
    waited: datetime.timedelta, late: int
) -> None:
    sent = ARRIVED - datetime.timedelta(seconds=late)
    assert made_at(sent - waited, sent, ARRIVED) == sent - waited


@given(told=st.datetimes(timezones=st.just(datetime.UTC)), sent=st.none() | st.datetimes())
def test_nothing_was_made_after_it_arrived(
    told: datetime.datetime, sent: datetime.datetime | None
) -> None:
    made = made_at(told, sent.replace(tzinfo=datetime.UTC) if sent else None, ARRIVED)
    assert ARRIVED - LONGEST_WAIT - RIGHT <= made <= ARRIVED


def test_without_a_time_or_a_zone_it_is_made_when_it_arrives() -> None:
    assert made_at(None, ARRIVED, ARRIVED) == ARRIVED
    assert made_at(ARRIVED.replace(tzinfo=None, hour=9), None, ARRIVED) == ARRIVED
    earlier = ARRIVED - datetime.timedelta(hours=1)
    assert made_at(earlier, None, ARRIVED) == earlier
