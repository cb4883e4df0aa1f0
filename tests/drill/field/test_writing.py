"""The season's words for coordinates: on its fields, custom ones too, on cards and prints."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from bandops.lib.accounts.models import User
from drill.events.models import Event
from drill.field.core.field import FIELD_WIDTH, units
from drill.field.models import CustomField, DrillSettings
from drill.field.services.writing import writer_of
from drill.publishing.pdf.prints import starts_of
from drill.publishing.services.cards import card
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from tests.architecture.many import write_lineup
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

AT = (-units("19.5"), units(38))


@pytest.fixture
def at_one_coordinate(band: Band, cast: Cast) -> Band:
    """Spot 1-1 stands at AT in the only set of the halftime show; the lineup is published."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    first = DrillSet.objects.create(version=version, order=1, label="1", counts=0)
    dot = Dot.objects.create(show=show, label="1-1")
    Position.objects.create(set=first, dot=dot, x=AT[0], y=AT[1])
    return band


def settings(band: Band, **values: str) -> None:
    DrillSettings.objects.update_or_create(season=band.season, defaults=values)


def test_without_settings_the_usual_way(band: Band) -> None:
    writer = writer_of(band.season, "60 ft")
    assert writer.coordinate(*AT) == "side 1, 3.5 outside the 40, 6 behind the front hash"
    assert writer.note == ""
    assert writer.parse("S1 3 1/2 out 40, 6 bfh") == AT
    assert writer.error(AT[0] + 50, AT[1] - 40) == (-50, 40)


def test_settings_and_custom_fields_are_followed(band: Band) -> None:
    settings(band, seen_from="field", precision="sixteenth", depth="rounded")
    CustomField.objects.create(
        season=band.season,
        name="Old arena",
        front_hash=units(20),
        back_hash=FIELD_WIDTH - units(20),
    )
    writer = writer_of(band.season, "Old arena")
    assert writer.across(AT[0]) == "side 2, 3 1/2 outside the 40"
    assert writer.depth(units(20)) == "on the front hash"
    assert writer.note == (
        "Side 1 is on the left of a marcher facing the press box. "
        "Pictures are drawn the same way, with the front at the top. "
        "Depth is rounded: 84 steps, the front hash at 20, the back hash at 64."
    )


def test_two_questions_make_a_writer(
    band: Band, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    with django_assert_num_queries(2):
        writer_of(band.season, "60 ft").coordinate(*AT)


def test_cards_and_prints_speak_of_the_event_s_field(at_one_coordinate: Band, cast: Cast) -> None:
    band = at_one_coordinate
    CustomField.objects.create(
        season=band.season, name="Old arena", front_hash=units(30), back_hash=units(50)
    )
    Event.objects.filter(pk=band.event.pk).update(field_type="Old arena")
    event = Event.objects.get(pk=band.event.pk)
    lineup = write_lineup(event, cast.staff, 1)
    me = lineup.rows.get(segment=band.halftime, spot=band.spots["1-1"]).member
    assert me is not None
    piece = next(p for p in card(me, event, lineup).segments if p.segment == band.halftime)
    assert [(s.across, s.depth) for s in piece.sets] == [
        ("side 1, 3.5 outside the 40", "8 behind the front hash")
    ]
    assert piece.picture is not None
    assert piece.picture.field_type.front_hash == units(30)
    writer = writer_of(band.season, event.field_type)
    starts = starts_of(writer, [band.halftime], lineup.show_versions, [band.spots["1-1"]])
    assert [s.text for s in starts[band.spots["1-1"].pk]] == [
        "side 1, 3.5 outside the 40; 8 behind the front hash"
    ]


def test_the_show_s_page_says_how_its_coordinates_are_written(
    at_one_coordinate: Band, cast: Cast, signed_in: Callable[[User], Client]
) -> None:
    settings(at_one_coordinate, seen_from="field")
    show = Show.objects.get(name="Tidewheel")
    page = signed_in(cast.staff).get(reverse("show", args=[show.pk])).content.decode()
    assert "side 2, 3.5 outside the 40" in page
    assert "Side 1 is on the left of a marcher facing the press box." in page
