"""Events through the pages: their days, copies, and how they go."""

from __future__ import annotations

import datetime

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.dates import OUT_OF_REACH
from drill.challenges.models import ChallengeRound
from drill.events.models import Event
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from tests.answers import Response
from tests.architecture.world import publish
from tests.drill.events.event_pages import FAR, errors, staff
from tests.factories import Band, Cast

__all__ = ["staff"]

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("days and moments at the ends of what a column holds"),
]


def said_of(event: Event) -> dict[str, str]:
    return {
        "name": "Away",
        "kind": "game",
        "date": f"{event.date}",
        "time_zone": event.time_zone,
        "field_type": event.field_type,
    }


@pytest.mark.parametrize(("moment", "zone"), FAR)
def test_a_cut_off_far_away_is_refused_at_its_field(
    staff: Client, band: Band, moment: str, zone: str
) -> None:
    told = said_of(band.event) | {"cut_off": moment, "time_zone": zone}
    found = errors(staff.post(reverse("event-new"), told))
    assert found == {"cut_off": [OUT_OF_REACH]}


@pytest.mark.parametrize("day", ["0001-01-01", "1969-12-31", "2200-01-01", "9999-12-31"])
def test_a_day_far_away_is_refused_at_its_field(staff: Client, band: Band, day: str) -> None:
    found = errors(staff.post(reverse("event-new"), said_of(band.event) | {"date": day}))
    assert found == {"date": [OUT_OF_REACH]}


def test_times_within_the_years_are_kept_as_they_were_typed(staff: Client, band: Band) -> None:
    told = said_of(band.event) | {"cut_off": "2099-10-16T18:30"}
    assert staff.post(reverse("event-new"), told).status_code == 302
    made = Event.objects.get(name="Away")
    assert made.cut_off == datetime.datetime(2099, 10, 16, 23, 30, tzinfo=datetime.UTC)
    page = staff.get(reverse("event-edit", args=[made.pk])).content.decode()
    assert 'value="2099-10-16T18:30"' in page


# Copies


def copy(staff: Client, event: Event, day: str) -> Response:
    return staff.post(reverse("event-copy", args=[event.pk]), {"name": event.name, "date": day})


@pytest.mark.parametrize("day", ["2098-10-17", "2099-08-09", "2099-12-21", "2100-10-17"])
def test_a_copy_keeps_to_the_season_as_a_new_event_does(
    staff: Client, band: Band, day: str
) -> None:
    new = errors(staff.post(reverse("event-new"), said_of(band.event) | {"date": day}))
    copied = errors(copy(staff, band.event, day))
    assert copied == new and "outside the season" in copied["__all__"][0]
    assert Event.objects.count() == 1


@pytest.mark.parametrize("day", ["0001-01-01", "2999-10-17", "9999-12-31"])
def test_a_copy_far_away_is_refused_at_its_field(staff: Client, band: Band, day: str) -> None:
    band.event.cut_off = datetime.datetime(2099, 10, 16, 23, tzinfo=datetime.UTC)
    band.event.save()
    assert errors(copy(staff, band.event, day)) == {"date": [OUT_OF_REACH]}
    assert Event.objects.count() == 1


@pytest.mark.parametrize("day", ["0001-01-01", "9999-12-31"])
def test_an_event_far_away_can_be_copied_and_changed_into_the_season(
    staff: Client, band: Band, day: str
) -> None:
    """Such rows may stand in a database from before days had limits."""
    moment = datetime.datetime.fromisoformat(f"{day}T23:59Z")
    Event.objects.update(date=day, cut_off=moment, time_zone="Asia/Tokyo")
    for name in ("event", "event-copy", "event-edit"):
        assert staff.get(reverse(name, args=[band.event.pk])).status_code == 200
    assert copy(staff, band.event, "2099-10-17").status_code == 302
    Event.objects.filter(pk=band.event.pk).update(date="2099-10-24")
    response = copy(staff, band.event, "2099-10-31")
    assert day < "2000" or "change it first" in errors(response)["__all__"][0]


def test_a_copy_keeps_the_distance_of_its_cut_off(staff: Client, band: Band) -> None:
    band.event.cut_off = datetime.datetime(2099, 10, 16, 23, tzinfo=datetime.UTC)
    band.event.save()
    assert copy(staff, band.event, "2099-11-07").status_code == 302
    made = Event.objects.exclude(pk=band.event.pk).get()
    assert made.cut_off == datetime.datetime(2099, 11, 7, 0, tzinfo=datetime.UTC), "18:00 local"


# How they go


def test_an_event_whose_lineup_was_made_can_be_removed(staff: Client, band: Band) -> None:
    page, remove = (reverse(name, args=[band.event.pk]) for name in ("event", "event-remove"))
    assert "with its draft" not in staff.get(page).content.decode()
    assert staff.post(reverse("make-lineup", args=[band.event.pk])).status_code == 302
    assert Lineup.objects.get().rows.exists()
    assert "Remove with its draft" in staff.get(page).content.decode()
    text = staff.post(remove, follow=True).content.decode()
    assert "is removed, and so is the draft of its lineup, which was never published." in text
    assert not Event.objects.exists() and not Lineup.objects.exists()


def test_an_event_with_a_published_lineup_stays(staff: Client, band: Band, cast: Cast) -> None:
    publish(band, cast.staff)
    open_draft(actor=cast.staff, event=band.event)
    remove = reverse("event-remove", args=[band.event.pk])
    text = staff.post(remove, follow=True).content.decode()
    assert "has a published lineup, so it stays." in text
    assert Event.objects.exists() and Lineup.objects.count() == 2, "the draft stays as well"


def test_an_event_from_which_a_win_counts_stays_with_its_draft(staff: Client, band: Band) -> None:
    noon = datetime.datetime(2099, 10, 12, 17, tzinfo=datetime.UTC)
    hour = datetime.timedelta(hours=1)
    moments = {"opens_at": noon, "closes_at": noon + hour, "held_at": noon + hour}
    ChallengeRound.objects.create(
        season=band.season, name="Week 9", effective=band.event, **moments
    )
    staff.post(reverse("make-lineup", args=[band.event.pk]))
    text = staff.post(reverse("event-remove", args=[band.event.pk]), follow=True).content.decode()
    assert "is needed for Week 9, so it stays." in text
    assert Event.objects.exists() and Lineup.objects.get().rows.exists()
