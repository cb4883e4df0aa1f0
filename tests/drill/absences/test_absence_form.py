"""The form of an absence: event and segment go together, and stay for the next entry."""

from __future__ import annotations

import datetime
import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drill.absences.models import Absence
from drill.events.models import Event, Segment
from tests.architecture.world import client_of
from tests.drill.absences.before_the_game import wednesday
from tests.factories import Band, Cast
from tests.lib.imports_help import words

__all__ = ["wednesday"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def staff(band: Band, cast: Cast) -> Client:
    return client_of(cast, "staff")


@pytest.fixture
def later(band: Band) -> Segment:
    """A parade a week after the game."""
    event = Event.objects.create(
        season=band.season,
        name="Lantern parade",
        date=band.event.date + datetime.timedelta(7),
        time_zone="America/Chicago",
    )
    return Segment.objects.create(
        event=event,
        order=1,
        name="Parade",
        kind="parade",
        starts=datetime.time(10),
        ends=datetime.time(11),
    )


def send(client: Client, band: Band, **values: Any) -> Any:
    sent = {"member": band.members["Cai Ørnberg"].pk, "kind": "out", **values}
    return client.post(reverse("absence-new"), sent, follow=True)


def test_a_segment_brings_its_event(band: Band, staff: Client, later: Segment) -> None:
    """The form begins with the next event; who chooses a segment of another means that one."""
    send(staff, band, event=band.event.pk, segment=later.pk)
    entry = Absence.objects.get()
    assert (entry.event, entry.segment) == (later.event, later)


def test_a_chosen_event_and_another_s_segment_are_refused(
    band: Band, staff: Client, later: Segment
) -> None:
    page = send(staff, band, event=later.event.pk, segment=band.halftime.pk)
    assert "belongs to another event" in words(page)


def test_segments_tell_whose_they_are(band: Band, staff: Client) -> None:
    page = words(staff.get(reverse("absence-new")))
    assert f'value="{band.halftime.pk}" data-of="{band.event.pk}"' in page


def test_the_next_entry_keeps_event_and_segment(band: Band, staff: Client, later: Segment) -> None:
    page = send(staff, band, event=later.event.pk, segment=later.pk, again="1")
    form = page.context["form"]
    assert form["event"].value() == str(later.event.pk)
    assert form["segment"].value() == str(later.pk)
    assert f'value="{later.pk}" selected data-of="{later.event.pk}"' in words(page)


def test_the_next_entry_keeps_dates(band: Band, staff: Client) -> None:
    page = send(staff, band, from_date="2099-10-05", until_date="2099-10-06", again="1")
    form = page.context["form"]
    assert not form["event"].value()
    assert (form["from_date"].value(), form["until_date"].value()) == ("2099-10-05", "2099-10-06")


def line(client: Client, text: str) -> Any:
    return client.post(reverse("absence-written"), {"line": text})


def test_a_line_names_a_segment(band: Band, staff: Client) -> None:
    page = line(staff, "Cai Ørnberg out halftime Sat")
    initial = page.context["form"].initial
    assert (initial["event"], initial["segment"]) == (band.event, band.halftime)
    assert not page.context["doubts"]
    assert initial["from_date"] is None


def test_a_segment_without_a_day_is_the_next_event_s(band: Band, staff: Client) -> None:
    page = line(staff, "Cai Ørnberg no pregame")
    assert page.context["form"].initial["segment"] == band.pregame
    assert page.context["doubts"] == [f"Did you mean {band.event}?"]


@pytest.mark.parametrize(
    ("text", "doubt"),
    [("no pregame and halftime Sat", "several segments"), ("out 1st half Sat", "Which event")],
)
def test_what_one_form_cannot_hold_is_said(
    band: Band, staff: Client, text: str, doubt: str
) -> None:
    page = line(staff, f"Cai Ørnberg {text}")
    assert any(doubt in words for words in page.context["doubts"])


def test_days_go_before_an_event_that_was_only_proposed(band: Band, cast: Cast) -> None:
    staff = client_of(cast, "staff")
    url = f"{reverse('absence-new')}?event={band.event.pk}"
    sent = {
        "member": band.members["Cai Ørnberg"].pk,
        "event": band.event.pk,
        "kind": "out",
        "from_date": "2099-10-05",
    }
    assert staff.post(url, sent).status_code == 302
    entry = Absence.objects.get(member=band.members["Cai Ørnberg"])
    assert (entry.event, str(entry.from_date)) == (None, "2099-10-05")


def test_a_segment_stands_by_its_name_under_its_event(band: Band, cast: Cast) -> None:
    """What waits on a phone is told by what was chosen, each thing once."""
    page = client_of(cast, "leader").get(reverse("rank-report")).content.decode()
    assert '<optgroup label="Sat, Oct 17, Pellowick at home">' in page
    assert re.search(r"<option [^>]*data-of=[^>]*>Halftime</option>", page)
