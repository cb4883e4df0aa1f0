"""Files of events as bands have them: a day, a name, a call, and segments in one cell."""

from __future__ import annotations

import datetime

import pytest
from django.test import Client
from django.urls import reverse

from drill.events.models import Event, Segment
from roster.people.models import KeptWord
from tests.factories import Band
from tests.lib.import_pages import staff
from tests.lib.imports_help import csv_file, words
from tests.lib.review_desk import Reviewer

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]

ROWS = [
    ["Date", "What", "Call", "Segments"],
    ["Sat, Oct 3", "vs. Port Ellery", "11:00 AM", "pregame, halftime and stands"],
    ["10/10/99", "at Tallow Creek", "TBA", "Halftime / Pregame"],
    ["Oct 24th", "Lamplight Parade", "5 pm", "parade"],
    ["2099-10-27", "Tuesday rehearsal", "4:15 pm", "Pregame block + Halftime block"],
]


def review(staff: Client, *rows: list[str], name: str = "events.csv") -> Reviewer:
    return Reviewer(staff, "events", csv_file(*rows), name)


def times(name: str) -> list[tuple[str, str, str, bool]]:
    segments = Segment.objects.filter(event__name=name)
    return [(s.name, f"{s.starts:%H:%M}", f"{s.ends:%H:%M}", s.times_proposed) for s in segments]


def test_a_plain_list_of_dates_comes_in_with_one_click(band: Band, staff: Client) -> None:
    desk = review(staff, *ROWS)
    assert not desk.plan.faults, desk.plan.faults
    assert desk.read == {
        "vs": "game", "at": "game", "parade": "parade", "rehearsal": "rehearsal",
        "Pregame block": "pregame", "Halftime block": "halftime",
    }  # fmt: skip
    first = desk.plan.lines[0].changes[0]
    assert (first.name, first.before, first.after) == ("kind of event", "", "game")
    assert "Pregame gets suggested times, 2:10 to 2:25 PM" in desk.text
    desk.save()
    assert times("vs. Port Ellery") == [
        ("Pregame", "14:10", "14:25", True),
        ("Halftime", "15:50", "16:10", True),
        ("Stands", "16:15", "17:55", True),
    ]
    assert [name for name, *_ in times("at Tallow Creek")] == ["Halftime", "Pregame"]
    assert times("Lamplight Parade") == [("Parade", "18:00", "19:00", True)]
    assert times("Tuesday rehearsal") == [
        ("Pregame block", "16:30", "17:15", True),
        ("Halftime block", "17:20", "18:05", True),
    ]
    kinds = dict(Event.objects.values_list("name", "kind"))
    assert (kinds["Lamplight Parade"], kinds["Tuesday rehearsal"]) == ("parade", "rehearsal")
    assert Event.objects.get(name="at Tallow Creek").date == datetime.date(2099, 10, 10)
    assert Event.objects.get(name="at Tallow Creek").call_time is None


def test_the_same_list_again_changes_nothing(band: Band, staff: Client) -> None:
    review(staff, *ROWS[:2]).save()
    desk = review(staff, *ROWS[:2])
    assert (desk.plan.added, desk.plan.changed) == (0, 0)


def test_the_event_says_that_it_needs_times_until_somebody_gives_them(
    band: Band, staff: Client
) -> None:
    review(staff, *ROWS[:2]).save()
    event = Event.objects.get(name="vs. Port Ellery")
    url = reverse("event", args=[event.pk])
    assert words(staff.get(url)).count("needs times") == 3
    pregame = Segment.objects.get(event=event, name="Pregame")
    sent = {"name": "Pregame", "kind": "pregame", "starts": "14:10", "ends": "14:25"}
    staff.post(reverse("segment", args=[pregame.pk]), sent)
    assert words(staff.get(url)).count("needs times") == 2
    rows = [["What", "Date", "Segment", "Start", "End"]]
    rows += [["vs. Port Ellery", "2099-10-03", "Halftime", "16:00", "16:20"]]
    review(staff, *rows).save()
    assert times("vs. Port Ellery")[1] == ("Halftime", "16:00", "16:20", False)
    assert words(staff.get(url)).count("needs times") == 1


def test_a_word_of_a_name_is_changed_once_for_all(band: Band, staff: Client) -> None:
    rows = [["at Tallow Creek", "2099-10-10"], ["at Port Ellery", "2099-10-24"]]
    desk = review(staff, ["Event", "When"], *rows)
    desk.answer(at="means:trip")
    assert not desk.read and not desk.asked
    desk.save()
    assert {e.kind for e in Event.objects.filter(name__startswith="at ")} == {"trip"}
    assert KeptWord.objects.get(key="at").value == "trip"


def test_a_day_and_a_name_are_enough(band: Band, staff: Client) -> None:
    desk = review(staff, ["Date", "Event"], ["2099-10-24", "Lamplight"])
    assert "has no segments" in desk.text
    assert "1 added" in desk.save()
    event = Event.objects.get(name="Lamplight")
    assert (event.kind, event.segments.count()) == ("game", 0)


@pytest.mark.parametrize("head", ["Kick-off", "Kickoff", "Start"])
def test_times_lie_around_the_kick_off(band: Band, staff: Client, head: str) -> None:
    rows = [["Date", "Event", "Parts of it", head]]
    rows += [["2099-10-24", "Homecoming", "Pregame & Halftime", "7:00 pm"]]
    review(staff, *rows).save()
    assert times("Homecoming") == [
        ("Pregame", "18:40", "18:55", True),
        ("Halftime", "20:20", "20:40", True),
    ]


def test_a_segment_that_no_word_tells_is_asked_about_once(band: Band, staff: Client) -> None:
    rows = [["Date", "Event", "Segments"]]
    rows += [[f"2099-10-{day}", "Home game", "pregame, Encore"] for day in (10, 24)]
    desk = review(staff, *rows)
    assert {text: q.count for text, q in desk.asked.items()} == {"Encore": 2}
    desk.answer(Encore="means:stands")
    assert "2 added" not in desk.save()
    assert Segment.objects.filter(name="Encore", kind="stands").count() == 2


@pytest.mark.parametrize(
    ("day", "message"),
    [("Sun, Oct 24", "is a Sat"), ("Jan 5", "not a date"), ("13/45", "not a date")],
)
def test_a_day_that_cannot_be_is_told(band: Band, staff: Client, day: str, message: str) -> None:
    (fault,) = review(staff, ["Date", "Event"], [day, "Home game"]).plan.faults
    assert message in fault.message and f"“{day}”" in fault.message
