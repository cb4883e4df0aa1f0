"""Hours without am or pm in a list of events."""

from __future__ import annotations

import datetime

import pytest

from bandops.lib.imports.values import parse_time
from drill.events.imports.small_hours import daytime
from drill.events.models import Event
from tests.factories import Band, Cast
from tests.lib.imports_help import accept_file, csv_file, plan_of


@pytest.mark.parametrize(
    ("text", "starts", "hour"),
    [
        ("4:15", "", 16), ("1", "", 13), ("04:15", "", 4), ("4:15 am", "", 4), ("7:00", "", 7),
        ("10:30", "", 10), ("4:15p", "", 16), ("1:00", "11:00", 13), ("2:22", "14:06", 14),
        ("1:00", "21:00", 1), ("05:00", "04:30", 5),
    ],
)  # fmt: skip
def test_small_hours_are_of_the_afternoon(text: str, starts: str, hour: int) -> None:
    found, after = parse_time(text), parse_time(starts)
    assert found is not None
    meant, told = daytime(text, found, after)
    assert meant.hour == hour
    assert bool(told) == (meant != found or (text, starts) == ("04:15", ""))


@pytest.mark.django_db
def test_a_list_of_events_says_what_small_hours_are_read_as(band: Band, cast: Cast) -> None:
    head = ["Date", "What", "Call", "Segments", "Start", "End"]
    file = csv_file(head, ["2099-10-24", "Marrowby", "1:00", "Halftime", "3:50", "4:10"])
    plan = plan_of("events", file, band.season, cast.staff)
    told = [w.message for w in plan.warnings if "is read as" in w.message]
    assert told == [
        "“1:00” is read as 1:00 PM: write AM if it is in the morning.",
        "“3:50” is read as 3:50 PM: write AM if it is in the morning.",
        "“4:10” is read as 4:10 PM: write AM if it is in the morning.",
    ]
    accept_file("events", file, band.season, cast.staff)
    event = Event.objects.get(name="Marrowby")
    (segment,) = event.segments.all()
    assert (event.call_time, segment.starts, segment.ends) == (
        datetime.time(13), datetime.time(15, 50), datetime.time(16, 10),
    )  # fmt: skip
