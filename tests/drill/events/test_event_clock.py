"""An event goes by its own clock: its zone, the hours that clocks change, and midnight."""

from __future__ import annotations

import datetime
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.db import IntegrityError, transaction
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Refused
from drill.events import queries
from drill.events.models import Event, Segment
from drill.events.services.events import save_segment
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.events.event_pages import errors, staff
from tests.factories import Band, Cast

__all__ = ["staff"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("times and constraints are the database's"),
]
BACK = "2099-11-01"
"""the clocks go back at 2:00 AM"""


@pytest.fixture
def away(band: Band) -> Event:
    """A game in the Pacific zone of a Central band; its cut-off is 6 PM there."""
    event = band.event
    event.time_zone = "America/Los_Angeles"
    event.cut_off = datetime.datetime(2099, 10, 17, 1, tzinfo=datetime.UTC)
    event.save()
    return event


@pytest.fixture
def night(band: Band) -> Event:
    """The game goes on past midnight: 11:30 PM to 12:30 AM in Chicago."""
    late = {"starts": datetime.time(23, 30), "ends": datetime.time(0, 30)}
    Segment.objects.filter(pk=band.stands.pk).update(**late)
    return Event.objects.get(pk=band.event.pk)


def sent_from(page: Client, url: str) -> dict[str, str]:
    """What a form sends that nobody has changed."""
    form = page.get(url).context["form"]
    values = {field.html_name: field.value() for field in form}
    shown = {name: form[name].field.widget.format_value(v) for name, v in values.items()}
    return {
        name: str(v[0] if isinstance(v, list) else v)
        for name, v in shown.items()
        if v not in (None, [])
    }


def moment(*parts: int) -> datetime.datetime:
    return datetime.datetime(*parts, tzinfo=datetime.UTC)  # type: ignore[arg-type, misc]


# The event's zone


def test_saving_an_away_event_unchanged_moves_nothing(staff: Client, away: Event) -> None:
    url = reverse("event-edit", args=[away.pk])
    sent = sent_from(staff, url)
    assert (sent["time_zone"], sent["cut_off"]) == ("America/Los_Angeles", "2099-10-16T18:00")
    assert staff.post(url, sent).status_code == 302
    kept = Event.objects.get(pk=away.pk)
    assert (kept.time_zone, kept.cut_off) == ("America/Los_Angeles", away.cut_off)


def test_a_new_event_starts_with_the_seasons_zone(staff: Client, band: Band) -> None:
    assert sent_from(staff, reverse("event-new"))["time_zone"] == "America/Chicago"


@pytest.mark.parametrize("name", ["event", "week-of"])
def test_a_cut_off_is_told_by_the_events_clock(staff: Client, away: Event, name: str) -> None:
    page = text(staff.get(reverse(name, args=[away.pk])))
    assert "Fri, Oct 16, 6:00 PM PDT" in page and "8:00 PM" not in page
    assert "11:00 AM PDT" in page, "the call as well"
    assert "2:00 to 2:20 PM PDT" in page, "and the segments"


def test_a_devices_script_finds_each_moment_with_its_zone(staff: Client, away: Event) -> None:
    page = staff.get(reverse("event", args=[away.pk])).content.decode()
    cut_off = '<time datetime="2099-10-16T18:00-07:00" data-zone="PDT">'
    assert cut_off in page and '<time datetime="2099-10-17T11:00-07:00" data-zone="PDT">' in page


def test_at_home_no_zone_is_named(staff: Client, band: Band) -> None:
    page = text(staff.get(reverse("event", args=[band.event.pk])))
    assert "11:00 AM" in page and "11:00 AM C" not in page


@pytest.mark.parametrize("zone", ["Pacific", "america", "Mars/Olympus", "../etc"])
@pytest.mark.parametrize("cut_off", ["", "2099-10-16T18:00"])
def test_an_unknown_zone_is_refused_at_its_field(
    staff: Client, away: Event, zone: str, cut_off: str
) -> None:
    url = reverse("event-edit", args=[away.pk])
    found = errors(staff.post(url, sent_from(staff, url) | {"time_zone": zone, "cut_off": cut_off}))
    assert list(found) == ["time_zone"]
    assert "is not a time zone" in found["time_zone"][0]


# The hours when clocks are changed


def test_a_cut_off_that_comes_twice_is_asked_about(staff: Client, band: Band) -> None:
    url = reverse("event-edit", args=[band.event.pk])
    sent = sent_from(staff, url) | {"cut_off": f"{BACK}T01:30"}
    response = staff.post(url, sent)
    assert errors(response) == {
        "cut_off": [
            "1:30 AM comes twice on Sun, Nov 1, 2099: the clocks go back."
            " Choose 1:30 AM CDT or 1:30 AM CST."
        ]
    }
    choice = response.context["form"].fields["cut_off_reading"].choices
    assert [words for _, words in choice] == ["Choose", "1:30 AM CDT", "1:30 AM CST"]
    for key, hour in ((choice[1][0], 6), (choice[2][0], 7)):
        assert staff.post(url, sent | {"cut_off_reading": key}).status_code == 302
        assert Event.objects.get(pk=band.event.pk).cut_off == moment(2099, 11, 1, hour, 30)
        assert staff.post(url, sent_from(staff, url)).status_code == 302, "it is known now"
        assert Event.objects.get(pk=band.event.pk).cut_off == moment(2099, 11, 1, hour, 30)


def test_a_cut_off_that_does_not_exist_is_asked_about(staff: Client, band: Band) -> None:
    url = reverse("event-edit", args=[band.event.pk])
    sent = sent_from(staff, url) | {"cut_off": "2099-03-08T02:30"}
    response = staff.post(url, sent)
    (message,) = errors(response)["cut_off"]
    assert message.startswith("There is no 2:30 AM on Sun, Mar 8, 2099: the clocks go forward.")
    later = response.context["form"].fields["cut_off_reading"].choices[2]
    assert later[1] == "3:30 AM CDT"
    assert staff.post(url, sent | {"cut_off_reading": later[0]}).status_code == 302
    assert Event.objects.get(pk=band.event.pk).cut_off == moment(2099, 3, 8, 8, 30)


def test_a_call_that_comes_twice_is_kept_as_it_was_chosen(staff: Client, band: Band) -> None:
    url = reverse("event-edit", args=[band.event.pk])
    sent = sent_from(staff, url) | {"date": BACK, "call_time": "01:30"}
    response = staff.post(url, sent)
    assert list(errors(response)) == ["call_time"]
    second = response.context["form"].fields["call_time_reading"].choices[2][0]
    assert staff.post(url, sent | {"call_time_reading": second}).status_code == 302
    kept = Event.objects.get(pk=band.event.pk)
    assert kept.called_at is not None
    assert kept.called_at.astimezone(datetime.UTC) == moment(2099, 11, 1, 7, 30)
    assert staff.post(url, sent_from(staff, url)).status_code == 302
    assert Event.objects.get(pk=band.event.pk).call_fold


def test_a_segments_end_that_comes_twice_is_asked_about(staff: Client, band: Band) -> None:
    """Of a game on the evening before."""
    Event.objects.filter(pk=band.event.pk).update(date="2099-10-31")
    url = reverse("segment", args=[band.stands.pk])
    sent = sent_from(staff, url) | {"starts": "22:00", "ends": "01:30"}
    response = staff.post(url, sent)
    assert list(errors(response)) == ["ends"]
    second = response.context["form"].fields["ends_reading"].choices[2][0]
    assert staff.post(url, sent | {"ends_reading": second}).status_code == 302
    kept = Segment.objects.select_related("event").get(pk=band.stands.pk)
    assert kept.event.span(kept)[1].astimezone(datetime.UTC) == moment(2099, 11, 1, 7, 30)
    assert staff.post(url, sent_from(staff, url)).status_code == 302
    assert Segment.objects.get(pk=band.stands.pk).ends_fold


# Past midnight


def test_a_segment_may_end_after_midnight(staff: Client, band: Band) -> None:
    url = reverse("segment", args=[band.stands.pk])
    sent = sent_from(staff, url) | {"starts": "23:30", "ends": "00:30"}
    assert staff.post(url, sent).status_code == 302
    kept = Segment.objects.select_related("event").get(pk=band.stands.pk)
    starts, ends = kept.event.span(kept)
    assert ends - starts == datetime.timedelta(hours=1) and ends.day == 18
    page = text(staff.get(reverse("event", args=[band.event.pk])))
    assert "11:30 PM to 12:30 AM" in page


@pytest.mark.parametrize(("starts", "ends"), [("19:50", "19:30"), ("19:30", "07:50")])
def test_a_slip_of_am_and_pm_is_still_caught(
    staff: Client, band: Band, starts: str, ends: str
) -> None:
    url = reverse("segment", args=[band.stands.pk])
    found = errors(staff.post(url, sent_from(staff, url) | {"starts": starts, "ends": ends}))
    assert list(found) == ["ends"] and "Is it AM or PM?" in found["ends"][0]


@pytest.mark.parametrize(("starts", "ends"), [("10:00", "09:00"), ("19:50", "19:30")])
def test_no_way_in_writes_a_segment_without_length(band: Band, starts: str, ends: str) -> None:
    rows = Segment.objects.filter(pk=band.stands.pk)
    with pytest.raises(IntegrityError), transaction.atomic():
        rows.update(starts=starts, ends=ends)


def test_parts_of_the_night_overlap(night: Event, cast: Cast) -> None:
    def at(starts: datetime.time, ends: datetime.time) -> Segment:
        made = Segment(event=night, name="Encore", kind="stands", starts=starts, ends=ends)
        return save_segment(actor=cast.staff, segment=made)

    message = r"overlaps Stands \(11:30 PM to 12:30 AM\)"
    for starts, ends in ((23, 1), (22, 0)):
        with pytest.raises(Refused, match=message):
            at(datetime.time(starts), datetime.time(ends, 45))
    assert at(datetime.time(22), datetime.time(23, 30)).pk, "one after the other"


# Which event is next


@pytest.fixture
def later(band: Band) -> Event:
    return Event.objects.create(
        season=band.season, name="Later", date=datetime.date(2099, 10, 24), time_zone="UTC"
    )


@pytest.fixture
def travel() -> Iterator[Any]:
    with time_machine.travel(moment(2099, 10, 17, 12), tick=False) as clock:
        yield clock


@pytest.mark.parametrize(
    ("zone", "hour", "is_next"),
    [
        ("America/Chicago", 22, True),
        ("America/Chicago", 23, False),
        ("America/Los_Angeles", 24, True),
        ("America/Los_Angeles", 25, False),
        ("Asia/Tokyo", 8, True),
        ("Asia/Tokyo", 9, False),
    ],
)
def test_the_next_event_is_one_that_has_not_ended(
    band: Band, later: Event, travel: Any, zone: str, hour: int, is_next: bool
) -> None:
    """The stands end at 6 PM by the event's clock."""
    Event.objects.filter(pk=band.event.pk).update(time_zone=zone)
    travel.move_to(moment(2099, 10, 17) + datetime.timedelta(hours=hour))
    assert queries.next_event(band.season) == (band.event if is_next else later)
    assert (band.event in queries.coming_events(band.season)) is is_next


@pytest.mark.parametrize(("minutes", "is_next"), [(29, True), (30, False)])
def test_past_midnight_the_event_of_tonight_goes_on(
    night: Event, later: Event, travel: Any, minutes: int, is_next: bool
) -> None:
    travel.move_to(moment(2099, 10, 18, 5, minutes))
    assert queries.next_event(night.season) == (night if is_next else later)


def test_an_event_without_segments_is_over_with_its_day(later: Event, travel: Any) -> None:
    assert later.is_over(moment(2099, 10, 25)) and not later.is_over(moment(2099, 10, 24, 23, 59))


def test_after_the_last_event_the_last_one_stays(later: Event, travel: Any) -> None:
    travel.move_to(moment(2099, 12, 1))
    assert queries.next_event(later.season) == later


@pytest.mark.parametrize("name", ["card", "my-rank", "desk", "week"])
def test_the_pages_turn_to_the_next_event_when_tonights_has_ended(
    band: Band, cast: Cast, later: Event, travel: Any, name: str
) -> None:
    role = {"card": "member", "my-rank": "leader"}.get(name, "staff")
    for hour, words in ((22, "Pellowick at home"), (23, "Later")):
        travel.move_to(moment(2099, 10, 17, hour, 1))
        response = client_of(cast, role).get(reverse(name))
        assert str(response.context["event"]) == words
