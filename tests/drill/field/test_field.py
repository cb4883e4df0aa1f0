"""Field and coordinates: settings, the band's own fields, and what is on them."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.events.models import Event
from drill.field.core.field import FIELD_WIDTH
from drill.field.models import CustomField, DrillSettings
from drill.shows.models import Show
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

FIELD = "field"
ARENA = {"name": "Old arena", "front": "50 ft", "back": ""}


@pytest.fixture
def staff(cast: Cast, signed_in: Callable[[User | None], Client]) -> Client:
    return signed_in(cast.staff)


def text(client: Client, name: str, *args: int) -> str:
    return client.get(reverse(name, args=args)).content.decode()


def add(client: Client, **values: str) -> str:
    """The page after a field was sent."""
    sent = client.post(reverse("custom-field-new"), ARENA | values, follow=True)
    return sent.content.decode()


def test_the_words_are_chosen_and_shown_on_every_field(band: Band, staff: Client) -> None:
    page = text(staff, FIELD)
    assert "side 1, 3.5 outside the 40, 8 behind the front hash" in page
    assert "2.25 behind the front hash" in page, "on the field with hashes at 70 ft 9 in"
    assert "2.2 inches across" in page, "19.4 is written as 19.5"
    chosen = {"seen_from": "field", "precision": "sixteenth", "depth": "rounded"}
    DrillSettings.objects.create(season=band.season, closest_gap=500)
    assert staff.post(reverse(FIELD), chosen).status_code == 302
    saved = DrillSettings.objects.get(season=band.season)
    assert (saved.seen_from, saved.precision, saved.depth) == tuple(chosen.values())
    assert saved.closest_gap == 500, "the limits of moves are another page's"
    assert AuditEntry.objects.filter(action="change how coordinates are written").exists()
    page = text(staff, FIELD)
    assert "side 2, 3 3/8 outside the 40, 7 1/2 behind the front hash" in page


def test_a_choice_that_is_none_is_refused(band: Band, staff: Client) -> None:
    sent = staff.post(reverse(FIELD), {"seen_from": "the moon"})
    assert "Please fix" in sent.content.decode()
    assert not DrillSettings.objects.exists()


def test_a_field_is_added_changed_and_removed(band: Band, staff: Client) -> None:
    assert "Old arena is saved." in add(staff)
    it = CustomField.objects.get()
    assert (it.front_hash, FIELD_WIDTH - it.back_hash) == (600 * 32, 600 * 32)
    form = text(staff, "custom-field", it.pk)
    assert 'value="50 ft"' in form
    url = reverse("custom-field", args=[it.pk])
    staff.post(url, {"name": "Arena", "front": "20 steps", "back": "18 m"})
    it.refresh_from_db()
    assert (it.name, it.front_hash) == ("Arena", 20 * 720)
    assert FIELD_WIDTH - it.back_hash == round(18 / 0.0254 * 32)
    removed = staff.post(reverse("custom-field-remove", args=[it.pk]), follow=True)
    assert "Arena is removed." in removed.content.decode()
    assert not CustomField.objects.exists()


@pytest.mark.parametrize(
    ("values", "message"),
    [
        ({"front": "50"}, "is not a length; write it with its unit"),
        ({"front": "1/0 ft"}, "is not a number"),
        ({"front": "0 ft"}, "both between the sidelines"),
        ({"front": "80 ft"}, "both between the sidelines"),
        ({"front": "100 ft", "back": "60 ft"}, "both between the sidelines"),
        ({"front": ""}, "This field is required"),
        ({"name": ""}, "This field is required"),
        ({"name": "60 ft"}, "There is already a field named 60 ft."),
        ({"name": "Meadow"}, "There is already a field named Meadow."),
        ({"name": "x" * 41}, "at most 40 characters"),
    ],
)
def test_fields_that_cannot_be_are_refused(
    band: Band, staff: Client, values: dict[str, str], message: str
) -> None:
    add(staff, name="Meadow")
    assert message in add(staff, **values)
    assert CustomField.objects.count() == 1


def test_a_field_in_use_stays_and_is_renamed_everywhere(band: Band, staff: Client) -> None:
    add(staff)
    it = CustomField.objects.get()
    show = Show.objects.get(name="Tidewheel")
    Event.objects.filter(pk=band.event.pk).update(field_type="Old arena")
    Show.objects.filter(pk=show.pk).update(field_type="Old arena")
    remove = reverse("custom-field-remove", args=[it.pk])
    assert remove not in text(staff, FIELD), "the button is not even there"
    page = staff.post(remove, follow=True).content.decode()
    assert (
        f"Old arena stays: it is the field of {band.event}, Sat, Oct 17, the show Tidewheel."
        in page
    )
    staff.post(reverse("custom-field", args=[it.pk]), ARENA | {"name": "New arena"})
    band.event.refresh_from_db()
    show.refresh_from_db()
    assert (band.event.field_type, show.field_type) == ("New arena", "New arena")


def test_events_and_shows_offer_the_season_s_fields(band: Band, staff: Client) -> None:
    add(staff)
    show = Show.objects.get(name="Tidewheel")
    for name, args in (
        ("event-edit", [band.event.pk]),
        ("event-new", []),
        ("show-edit", [show.pk]),
        ("show-new", []),
    ):
        page = staff.get(reverse(name, args=args)).content.decode()
        assert '<option value="Old arena">Old arena</option>' in page, name
        assert "High school (53 ft 4 in)" in page, name
    staff.post(reverse("show-new"), {"name": "Rivers", "field_type": "Old arena"})
    assert Show.objects.get(name="Rivers").field_type == "Old arena"
    sent = staff.post(
        reverse("show-edit", args=[show.pk]), {"name": "Rivers", "field_type": "60 ft"}
    )
    assert "There is already a show named Rivers." in sent.content.decode()
    sent = staff.post(
        reverse("show-edit", args=[show.pk]), {"name": "Tidewheel", "field_type": "Mars"}
    )
    assert "Select a valid choice" in sent.content.decode()
