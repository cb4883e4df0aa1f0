"""The time zones of calendar feeds, against two readers that are not ours."""

from __future__ import annotations

import datetime
import io
import json
import re
from pathlib import Path
from zoneinfo import ZoneInfo

import icalendar
import pytest
from dateutil import rrule, tz

from bandops.lib.calendars import calendar_text
from tests.lib.calendar_entries import at, entry, lines
from tests.lib.calendars_help import in_utc

RULES = json.loads(
    (Path(__file__).parents[1] / "sources" / "rrule_rfc5545.json").read_text(encoding="utf-8")
)


def zone_in(text: bytes) -> datetime.tzinfo:
    """The one time zone that the calendar describes, as another library reads it."""
    block = re.search(r"BEGIN:VTIMEZONE.*END:VTIMEZONE\r\n", text.decode(), re.S)
    assert block
    # That library takes an onset for one only where it stands among dates as well.
    dated = re.sub(r"(DTSTART)(:\d+T\d+\r\n)", r"\1\2RDATE\2", block[0])
    zone: datetime.tzinfo | None = tz.tzical(io.StringIO(dated.replace("\r\n", "\n"))).get()
    assert zone is not None
    return zone


def instants(text: bytes) -> list[datetime.datetime]:
    """When the entries start, by the calendar's own description of their zone."""
    found = re.findall(r"DTSTART;TZID=[^:]+:(\d{8}T\d{6})", text.decode())
    zone = zone_in(text)
    local = [datetime.datetime.strptime(when, "%Y%m%dT%H%M%S") for when in found]
    return [when.replace(tzinfo=zone).astimezone(datetime.UTC) for when in local]


@pytest.mark.source("RFC 5545, 3.8.5.3: the sample recurrences")
@pytest.mark.parametrize("case", RULES, ids=lambda c: c["name"])
def test_sample_recurrences_and_our_zone_agree(case: dict[str, object]) -> None:
    """The reference library finds the standard's instants; our calendar says the same ones."""
    name, _, start = str(case["dtstart"]).partition(":")
    zone = ZoneInfo(name)
    first = datetime.datetime.strptime(start, "%Y%m%dT%H%M%S").replace(tzinfo=zone)
    found = list(rrule.rrulestr(str(case["rrule"]), dtstart=first))
    written = [f"{when:%Y%m%dT%H%M%S%z}" for when in found]
    assert len(found) == case["count"]
    if case["all"] is not None:
        assert written == case["all"]
    assert written[:6] == case["first"] and written[-2:] == case["last"]
    ours = calendar_text("Band", [entry(when, uid=f"{n}@x") for n, when in enumerate(found)])
    expected = [datetime.datetime.strptime(when, "%Y%m%dT%H%M%S%z") for when in written]
    assert instants(ours) == expected


@pytest.mark.source("IANA time zone database, by zoneinfo: New York, 1 November 2026")
def test_a_season_across_the_change_of_the_clocks() -> None:
    days = [datetime.date(2026, 8, 29) + n * datetime.timedelta(weeks=1) for n in range(15)]
    days += [datetime.date(2026, 10, 31), datetime.date(2026, 11, 1), datetime.date(2026, 11, 2)]
    starts = sorted(at(d.year, d.month, d.day, 11, 30) for d in set(days))
    text = calendar_text("Band", [entry(when, uid=f"{n}@x") for n, when in enumerate(starts)])
    by_zoneinfo = [when.astimezone(datetime.UTC) for when in starts]
    assert instants(text) == by_zoneinfo
    read = [event.start for event in icalendar.Calendar.from_ical(text).events]
    assert [in_utc(when) for when in read] == by_zoneinfo
    hours = {when.date(): when.hour for when in by_zoneinfo}
    assert (hours[datetime.date(2026, 10, 31)], hours[datetime.date(2026, 11, 1)]) == (15, 16)


@pytest.mark.source("RFC 5545, 3.3.5: local times that occur twice or not at all (from memory)")
@pytest.mark.parametrize(
    ("local", "utc"),
    [
        (at(2026, 3, 8, 1, 59), "06:59"),
        (at(2026, 3, 8, 2, 30), "07:30"),  # does not exist: read with the offset before the gap
        (at(2026, 3, 8, 3, 0), "07:00"),
        (at(2026, 11, 1, 1, 30), "05:30"),  # comes twice: the first is meant, -0400
        (at(2026, 11, 1, 2, 0), "07:00"),
    ],
)
def test_odd_hours(local: datetime.datetime, utc: str) -> None:
    text = calendar_text("Band", [entry(local)])
    (event,) = icalendar.Calendar.from_ical(text).events
    assert f"{in_utc(event.start):%H:%M}" == utc
    if utc != "07:30":
        assert f"{instants(text)[0]:%H:%M}" == utc


@pytest.mark.source("RFC 5545, 3.6.5: the sample of New York in 2007 (from memory)")
def test_a_zone_tells_its_onsets_by_the_clock_before_them() -> None:
    rows = lines(calendar_text("Band", [entry(at(2007, 7, 4, 11))]))
    described = rows[rows.index("BEGIN:VTIMEZONE") : rows.index("END:VTIMEZONE")]
    samples = (
        ("DAYLIGHT", "20070311T020000", "-0500", "-0400", "EDT"),
        ("STANDARD", "20071104T020000", "-0400", "-0500", "EST"),
    )
    for kind, onset, before, after, name in samples:
        first = described.index(f"DTSTART:{onset}")
        clock = {f"TZOFFSETFROM:{before}", f"TZOFFSETTO:{after}", f"TZNAME:{name}"}
        assert described[first - 1] == f"BEGIN:{kind}"
        assert clock == set(described[first + 1 : first + 4])
    assert rows.index("END:VTIMEZONE") < rows.index("BEGIN:VEVENT")


@pytest.mark.source("RFC 5545, 3.6.5 (from memory); the IANA time zone database, by zoneinfo")
@pytest.mark.parametrize(
    "name", ["America/New_York", "Europe/Lisbon", "Asia/Kolkata", "Australia/Lord_Howe"]
)
def test_a_zone_gives_every_hour_its_offset(name: str) -> None:
    """An onset in UTC is its local time without the offset before it."""
    zone = ZoneInfo(name)
    days = [at(2026, 1, 1, 0, zone=zone), at(2027, 12, 31, 23, zone=zone)]
    text = calendar_text("Band", [entry(day, uid=f"{day}") for day in days])
    (described,) = icalendar.Calendar.from_ical(text).timezones
    clocks: list[icalendar.TimezoneStandard | icalendar.TimezoneDaylight] = [
        *described.standard,
        *described.daylight,
    ]
    onsets = sorted((c.DTSTART - c.TZOFFSETFROM, c.TZOFFSETTO) for c in clocks)
    moment, last = (day.astimezone(datetime.UTC) for day in days)
    while moment <= last:
        offset = [to for onset, to in onsets if onset <= moment.replace(tzinfo=None)][-1]
        assert offset == moment.astimezone(zone).utcoffset(), moment
        moment += datetime.timedelta(minutes=30)


@pytest.mark.parametrize("name", ["Europe/Lisbon", "Asia/Kolkata", "America/Phoenix"])
def test_other_zones(name: str) -> None:
    zone = ZoneInfo(name)
    starts = [at(2026, month, 25, 18, zone=zone) for month in range(1, 13)]
    text = calendar_text("Band", [entry(when, uid=f"{n}@x") for n, when in enumerate(starts)])
    assert instants(text) == [when.astimezone(datetime.UTC) for when in starts]


def test_entries_of_two_zones_follow_in_the_order_of_time() -> None:
    here, there = at(2026, 10, 3, 11), at(2026, 10, 3, 10, 30, zone=ZoneInfo("America/Chicago"))
    entries = [entry(there, uid="2@x"), entry(here, uid="1@x")]
    text = calendar_text("Band", entries)
    assert text == calendar_text("Band", entries[::-1]), "the same data, the same bytes"
    assert [row for row in lines(text) if row.startswith("UID")] == ["UID:1@x", "UID:2@x"]
    assert text.count(b"BEGIN:VTIMEZONE") == 2


def moments(text: bytes) -> list[tuple[str, datetime.datetime]]:
    """Each entry with its start in UTC, as a library that is not ours reads the calendar."""
    events = icalendar.Calendar.from_ical(text).events
    return [(str(e["UID"]), in_utc(e.start)) for e in events]


FAR = [at(1, 1, 1), at(1600, 7, 4, 11), at(2999, 7, 4, 11), at(9999, 12, 31, 23, 59)]


@pytest.mark.parametrize("far", [*FAR, datetime.date(1, 1, 1), datetime.date(9999, 12, 31)])
def test_an_entry_far_away_leaves_the_others_as_they_are(far: datetime.date) -> None:
    near = entry(at(2026, 7, 4, 11), ends=at(2026, 7, 4, 12), uid="near@x")
    alone, both = (calendar_text("Band", [near, *more]) for more in ([], [entry(far)]))
    block = re.search(rb"BEGIN:VTIMEZONE.*END:VTIMEZONE\r\n", alone, re.S)
    assert block and block[0] in both, "the zone is described as it was without the far entry"
    assert len(both.split(b"BEGIN:VEVENT")) == 3
    read = {str(e["UID"]): e.start for e in icalendar.Calendar.from_ical(both).events}
    assert read["near@x"] == near.starts
    if isinstance(far, datetime.datetime) and 1 < far.year < 9999:
        assert read["event-1@band.example"] == far.astimezone(datetime.UTC)


def test_years_without_entries_are_not_described() -> None:
    years = [1970, 2026, 2199]
    text = calendar_text("Band", [entry(at(y, 7, 4, 11), uid=f"{y}@x") for y in years])
    onsets = re.findall(rb"DTSTART:(\d{4})", text)
    assert {int(year) for year in onsets} == {y - back for y in years for back in (0, 1)}
    assert [moment for _, moment in moments(text)] == [
        at(y, 7, 4, 11).astimezone(datetime.UTC) for y in years
    ]


@pytest.mark.source("IANA time zone database, by zoneinfo (two changes a week apart)")
def test_clocks_that_were_changed_twice_within_a_week() -> None:
    zone = ZoneInfo("America/Noronha")
    days = [at(2000, 10, day, 12, zone=zone) for day in range(6, 18)]
    text = calendar_text("Band", [entry(day, uid=f"{day:%d}@x") for day in days])
    assert instants(text) == [day.astimezone(datetime.UTC) for day in days]
