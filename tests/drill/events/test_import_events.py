"""The import of events: what it adds, changes, leaves as it is, and refuses."""

from __future__ import annotations

import datetime

import pytest

from bandops.lib.exports.kinds import export_of
from drill.events.models import Event, Segment
from drill.field.models import CustomField
from drill.shows.models import Show
from roster.people.models import Season
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import actions, all_same, csv_file, plan_of

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
EVENT_COLUMNS = (
    "event", "kind", "venue", "date", "time zone", "call time", "cut-off", "travel limit",
    "uniform",
    "field", "segment", "segment kind", "starts", "ends", "show",
)  # fmt: skip
HOME = {
    "event": "Pellowick at home",
    "date": "2099-10-17",
    "time_zone": "America/Chicago",
    "call_time": "11:00",
    "field": "60 ft",
}
PARADE = {
    "event": "Lamplight Parade",
    "kind": "parade",
    "date": "2099-10-24",
    "segment": "Line-up",
    "segment_kind": "duty",
    "starts": "6:30 pm",
    "ends": "19:00",
}


@pytest.fixture
def events(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "events", *EVENT_COLUMNS)


def event_row(**values: object) -> list[object]:
    return [values.get(k.replace(" ", "_").replace("-", "_"), "") for k in EVENT_COLUMNS]


def segment(name: str, kind: str, starts: str, ends: str, show: str = "") -> dict[str, str]:
    return {"segment": name, "segment_kind": kind, "starts": starts, "ends": ends, "show": show}


PREGAME = segment("Pregame", "pregame", "14:00", "14:20", "Tidewheel")


def test_events_are_added_changed_and_left(events: Desk) -> None:
    rows = [
        event_row(**HOME, **PREGAME),
        event_row(**HOME, **segment("Halftime", "halftime", "16:00", "16:25", "tidewheel")),
        event_row(**HOME, **segment("Encore", "parade", "18:05", "18:20", "Sixty Lamps Afloat")),
        event_row(**PARADE, cut_off="2099-10-23 18:00", travel_limit=200, uniform="jacket; hat"),
    ]
    plan = events.plan(*rows)
    assert actions(plan) == ["same", "change", "add", "add"]
    assert changes(plan)[0] == ("ends", "4:20 PM", "4:25 PM")
    events.accept(*rows)
    made = Event.objects.get(name="Lamplight Parade")
    assert (made.kind, made.time_zone, made.field_type) == ("parade", "America/Chicago", "60 ft")
    assert made.cut_off == datetime.datetime(2099, 10, 23, 23, tzinfo=datetime.UTC)
    assert (made.travel_limit, made.uniform) == (200, "jacket; hat")
    order = Segment.objects.filter(event=events.band.event).values_list("name", "order")
    assert list(order) == [("Pregame", 1), ("Halftime", 2), ("Stands", 3), ("Encore", 4)]
    assert Show.objects.filter(name="Sixty Lamps Afloat").count() == 1


def test_what_is_said_of_an_event_may_stand_in_one_row(events: Desk) -> None:
    first = event_row(**{**PARADE, "call_time": "17:00", "venue": "High Street"})
    second = event_row(
        event="Lamplight Parade",
        date="2099-10-24",
        **segment("March", "parade", "19:00", "20:00"),
    )
    events.accept(first, second)
    made = Event.objects.get(name="Lamplight Parade")
    assert (made.kind, made.venue, made.call_time) == ("parade", "High Street", datetime.time(17))


def test_events_may_be_on_a_field_of_the_band_s_own(events: Desk) -> None:
    CustomField.objects.create(
        season=events.band.season, name="Old Arena", front_hash=20_000, back_hash=40_000
    )
    events.accept(event_row(**PARADE, field="old arena"))
    assert Event.objects.get(name="Lamplight Parade").field_type == "Old Arena"
    (fault,) = events.plan(event_row(**PARADE, field="Mars")).faults
    assert fault.message == "“Mars” is not one of 60 ft, 53 ft 4 in, 70 ft 9 in, Old Arena."


def test_columns_a_file_of_events_lacks_stay(band: Band, cast: Cast) -> None:
    Event.objects.update(uniform="jacket", travel_limit=9, kind="trip", venue="Mill Lane")
    header = ["event", "date", "segment", "segment kind", "starts", "ends"]
    row = ["Pellowick at home", "2099-10-17", "Pregame", "pregame", "14:00", "14:20"]
    assert all_same(plan_of("events", csv_file(header, row), band.season, cast.staff))


def test_every_fault_of_events_is_named(events: Desk) -> None:
    names = (f"Parade {n}" for n in range(99))

    def bad(**values: object) -> list[object]:
        return event_row(**{**PARADE, "event": next(names), **values})

    assert events.faults(
        bad(event=""),
        bad(date=""),
        bad(date="soon"),
        bad(kind="concert"),
        bad(time_zone="Mars/Olympus"),
        bad(time_zone="Mars/Olympus", cut_off="2099-10-23 18:00"),
        bad(time_zone="../../etc/passwd", cut_off="2099-10-23 18:00"),
        bad(call_time="noonish"),
        bad(cut_off="Friday"),
        bad(travel_limit=0),
        bad(travel_limit="9" * 400),
        bad(field="grass"),
        bad(segment=""),
        bad(segment_kind=""),
        bad(segment_kind="encore"),
        bad(starts=""),
        bad(ends="7 o'clock"),
        bad(starts="19:00"),
        bad(event="E" * 101),
        bad(venue="v" * 101),
        bad(uniform="d" * 201),
        bad(segment="s" * 61),
        bad(show="s" * 101),
        event_row(**PARADE),
        event_row(**PARADE),
        event_row(**{**PARADE, "segment": "More", "kind": "game"}),
        event_row(**{**PARADE, "segment": "Yet more", "call_time": "11:00"}),
        event_row(**{**PARADE, "segment": "Even more", "call_time": "11:15"}),
    ) == [
        (2, "event"), (3, "date"), (4, "date"), (5, "kind"), (6, "time zone"), (7, "time zone"),
        (8, "time zone"), (9, "call time"), (10, "cut-off"), (11, "travel limit"),
        (12, "travel limit"), (13, "field"), (14, "segment"), (15, "segment kind"),
        (16, "segment kind"), (17, "starts"), (18, "ends"), (19, "ends"), (20, "event"),
        (21, "venue"), (22, "uniform"), (23, "segment"), (24, "show"), (26, "segment"),
        (27, "kind"),
        (29, "call time"),
    ]  # fmt: skip


def test_the_uniform_may_be_headed_dress(band: Band, cast: Cast) -> None:
    older = Desk(band, cast, "events", *(c.replace("uniform", "dress") for c in EVENT_COLUMNS))
    older.accept(event_row(**PARADE, uniform="jacket; hat"))
    assert Event.objects.get(name="Lamplight Parade").uniform == "jacket; hat"


# Clocks

TOUR = {**PARADE, "date": "2099-11-01"}
"""the clocks go back at 2:00 AM"""


def test_a_segment_may_end_after_midnight(events: Desk) -> None:
    events.accept(event_row(**{**PARADE, "starts": "11:30 pm", "ends": "12:30 am"}))
    made = Segment.objects.select_related("event").get(name="Line-up")
    assert made.event.span(made)[1].day == 25


@pytest.mark.parametrize(("cell", "hour"), [("1:30 AM CDT", 6), ("01:30 CST", 7)])
def test_a_time_that_comes_twice_is_read_by_its_letters(events: Desk, cell: str, hour: int) -> None:
    cut_off = f"2099-11-01 01:30 {cell[-3:]}"
    row = event_row(**{**TOUR, "starts": cell, "ends": "03:00"}, cut_off=cut_off)
    events.accept(row)
    made = Segment.objects.select_related("event").get(name="Line-up")
    moment = datetime.datetime(2099, 11, 1, hour, 30, tzinfo=datetime.UTC)
    assert made.event.span(made)[0].astimezone(datetime.UTC) == moment
    assert made.event.cut_off == moment
    content = table_of(events.band.season)
    assert f"01:30 {cell[-3:]}" in content, "it goes out as it comes in"
    assert all_same(plan_of("events", content.encode(), events.band.season, events.cast.staff))


@pytest.mark.parametrize(
    ("values", "column", "words"),
    [
        ({"starts": "1:30 AM", "ends": "3:00"}, "starts", "1:30 AM comes twice on Sun, Nov 1"),
        ({"ends": "1:30 AM", "starts": "0:30"}, "ends", "Choose 1:30 AM CDT or 1:30 AM CST."),
        ({"call_time": "1:15 am"}, "call time", "1:15 AM comes twice"),
        ({"cut_off": "2099-11-01 01:30"}, "cut-off", "1:30 AM comes twice"),
        ({"cut_off": "2099-03-08 02:30"}, "cut-off", "There is no 2:30 AM on Sun, Mar 8, 2099"),
        ({"cut_off": "2099-03-08 02:30 CST"}, "cut-off", "There is no 2:30 AM"),
        ({"call_time": "5:00 PM EST"}, "call time", "clock shows CST on Sun, Nov 1, 2099, not EST"),
        ({"time_zone": "Pacific"}, "time zone", "Did you mean America/Los_Angeles"),
        ({"starts": "7:30 pm", "ends": "7:50 am"}, "ends", "Is it AM or PM?"),
    ],
)
def test_a_time_that_is_not_plain_is_asked_about(
    events: Desk, values: dict[str, str], column: str, words: str
) -> None:
    (fault,) = events.plan(event_row(**{**TOUR, **values})).faults
    assert fault.column == column and words in fault.message


def table_of(season: Season) -> str:
    export = export_of("events")
    assert export is not None
    headers, rows = export.rows(season)
    return csv_file(headers, *rows).decode()
