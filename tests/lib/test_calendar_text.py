"""Calendar feeds against RFC 5545: lines, texts, entries, and where they end."""

from __future__ import annotations

import datetime
import re

import icalendar
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bandops.lib.calendars import Entry, calendar_text
from tests.lib.calendar_entries import at, entry, lines


def value_of(text: bytes, name: str) -> str:
    found = [line for line in lines(text) if re.match(rf"{name}[;:]", line)]
    assert len(found) == 1, found
    return found[0]


@pytest.mark.source("RFC 5545, 3.1: content lines and folding")
def test_lines_end_in_crlf_and_are_folded_at_75_octets_between_letters() -> None:
    text = calendar_text("Band", [entry(at(2026, 10, 3, 11), text="é" * 40)])
    assert text.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in text.replace(b"\r\n", b"")
    rows = text.split(b"\r\n")
    start = next(n for n, row in enumerate(rows) if row.startswith(b"DESCRIPTION:"))
    assert [len(row) for row in rows[start : start + 2]] == [74, 19]
    assert rows[start + 1].startswith(b" ")


@pytest.mark.source("RFC 5545, 3.1: content lines and folding")
@settings(deadline=None)
@given(st.text(st.characters(exclude_categories=["Cs"])), st.text(st.characters()))
def test_any_text_keeps_the_form_of_the_lines(summary: str, place: str) -> None:
    place = place.encode("utf-8", "ignore").decode()
    text = calendar_text(summary, [entry(at(2026, 10, 3, 11), summary=summary, place=place)])
    for row in text.split(b"\r\n"):
        assert len(row) <= 75
        row.decode("utf-8")
        assert not re.search(rb"[\x00-\x08\x0a-\x1f\x7f]", row)
    (event,) = icalendar.Calendar.from_ical(text).walk("VEVENT")
    assert event["UID"] == "event-1@band.example"


@pytest.mark.source("RFC 5545, 3.3.11: escapes of TEXT")
@pytest.mark.parametrize(
    ("typed", "written"),
    [
        (r"a;b,c\d", r"a\;b\,c\\d"),
        ('Noon: "the Oaks"', 'Noon: "the Oaks"'),
        ("one\ntwo", r"one\ntwo"),
        ("one\r\ntwo\x07", r"one\ntwo"),
    ],
)
def test_text_is_escaped(typed: str, written: str) -> None:
    text = calendar_text("Band", [entry(at(2026, 10, 3, 11), text=typed)])
    assert value_of(text, "DESCRIPTION") == f"DESCRIPTION:{written}"


@pytest.mark.source("RFC 5545, 3.4: the sample event (from memory)")
def test_the_sample_event() -> None:
    sample = Entry(
        "19970610T172345Z-AF23B2@example.com",
        "Bastille Day Party",
        at(1997, 7, 14, 17, zone=datetime.UTC),
        at(1997, 6, 10, 17, 23, 45, zone=datetime.UTC),
        at(1997, 7, 15, 4, zone=datetime.UTC),
    )
    text = calendar_text("Band", [sample])
    assert {
        "BEGIN:VEVENT",
        "UID:19970610T172345Z-AF23B2@example.com",
        "DTSTAMP:19970610T172345Z",
        "DTSTART:19970714T170000Z",
        "DTEND:19970715T040000Z",
        "SUMMARY:Bastille Day Party",
        "END:VEVENT",
    } <= set(lines(text))
    assert b"VTIMEZONE" not in text, "UTC needs no description"


@pytest.mark.source("RFC 5545, 3.6 and 3.6.1: what a calendar and an event need (from memory)")
def test_a_calendar_and_its_events_have_what_they_need() -> None:
    text = calendar_text("Band", [entry(at(2026, 10, 3, 11), revision=3)])
    rows = lines(text)
    assert (rows[0], rows[-1]) == ("BEGIN:VCALENDAR", "END:VCALENDAR")
    assert rows.count("VERSION:2.0") == 1 and value_of(text, "PRODID")
    event = rows[rows.index("BEGIN:VEVENT") : rows.index("END:VEVENT")]
    for name in ("UID", "DTSTAMP", "DTSTART", "SEQUENCE"):
        assert len([row for row in event if re.match(rf"{name}[;:]", row)]) == 1, name
    assert not [row for row in rows if row.startswith(("METHOD", "RRULE", "DURATION"))]


@pytest.mark.source("RFC 7986, 5.7: the refresh interval says its type (from memory)")
def test_how_often_to_ask_again() -> None:
    assert "REFRESH-INTERVAL;VALUE=DURATION:PT1H" in lines(calendar_text("Band", []))


@pytest.mark.source("RFC 5545, 3.8.2.2: an end is exclusive (from memory)")
def test_a_day_without_times_ends_before_the_next() -> None:
    text = calendar_text("Band", [entry(datetime.date(2026, 10, 31))])
    assert value_of(text, "DTSTART") == "DTSTART;VALUE=DATE:20261031"
    assert value_of(text, "DTEND") == "DTEND;VALUE=DATE:20261101"
    (event,) = icalendar.Calendar.from_ical(text).events
    assert event.end - event.start == datetime.timedelta(days=1)


@pytest.mark.source("RFC 5545, 3.8.2.2: an end is later than its start (from memory)")
@pytest.mark.parametrize("ends", [None, at(2026, 10, 3, 11), at(2026, 10, 3, 10)])
def test_an_end_that_is_not_later_is_left_out(ends: datetime.datetime | None) -> None:
    text = calendar_text("Band", [entry(at(2026, 10, 3, 11), ends=ends)])
    assert b"DTEND" not in text


def test_an_end_in_the_hour_that_comes_twice_is_later() -> None:
    """01:40 before the clocks go back, 01:20 after: forty minutes."""
    ends = at(2026, 11, 1, 1, 20).replace(fold=1)
    text = calendar_text("Band", [entry(at(2026, 11, 1, 1, 40), ends=ends)])
    assert b"DTEND" in text
