"""An event of an earlier season is a pattern for one of this season."""

from __future__ import annotations

import datetime

import pytest
from django.urls import reverse

from drill.events.models import Event
from drill.field.models import CustomField
from drill.outfits.models import Worn
from drill.outfits.services.setting import set_worn
from drill.shows.models import Show
from roster.equipment.models import Kind
from roster.people.models import Instrument
from roster.people.services.next_season import Carried, Wanted, start_next_season
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.rehearsals.rehearsing import make_rehearsal
from tests.factories import Band, Cast
from tests.factories.store import make_store_rows

pytestmark = pytest.mark.django_db
YEAR = datetime.timedelta(days=364)


@pytest.fixture
def next_year(band: Band, cast: Cast) -> Carried:
    """The season after, with one show called as before; its game was on a field of its own."""
    field = CustomField.objects.create(
        season=band.season, name="Old arena", front_hash=20_000, back_hash=40_000
    )
    Event.objects.filter(pk=band.event.pk).update(field_type=field.name)
    band.event.must_travel.add(band.members["Cai Ørnberg"])
    make_rehearsal(band)
    season = band.season
    wanted = Wanted("Next", season.starts + YEAR, season.ends + YEAR, members=True)
    return start_next_season(actor=cast.director, season=season, wanted=wanted)


def test_a_game_is_set_up_as_it_was(band: Band, cast: Cast, next_year: Carried) -> None:
    client, was = client_of(cast, "staff"), band.event
    assert reverse("events-earlier") in client.get(reverse("events")).content.decode()
    url = reverse("event-again", args=[was.pk])
    assert url in client.get(reverse("events-earlier")).content.decode()
    day = was.date + YEAR
    assert "Shows are found by name" in text(client.get(url))
    told = text(client.post(url, {"name": "Homecoming", "date": day.isoformat()}, follow=True))
    assert "No show of that name this season, so choose one for" in told
    made = Event.objects.get(season=next_year.new)
    assert (made.name, made.date, made.call_time) == ("Homecoming", day, was.call_time)
    kinds = [(s.name, s.kind, s.starts, s.ends) for s in was.segments.all()]
    assert [(s.name, s.kind, s.starts, s.ends) for s in made.segments.all()] == kinds
    assert {s.show_id for s in made.segments.all()} == {None}, "a show of the year before"
    must = [m.person for m in made.must_travel.select_related("person")]
    assert must == [band.members["Cai Ørnberg"].person]
    assert {m.season_id for m in made.must_travel.all()} == {next_year.new.pk}
    assert made.field_type == "Old arena", "the field came along with the season"
    assert client.get(reverse("event", args=[made.pk])).status_code == 200
    assert client.get(reverse("lineup", args=[made.pk])).status_code == 200
    Event.objects.get(pk=was.pk, season=band.season)


def test_a_show_of_the_same_name_is_marched_again(
    band: Band, cast: Cast, next_year: Carried
) -> None:
    segment = band.event.segments.exclude(show=None).first()
    assert segment is not None and segment.show is not None
    again = Show.objects.create(season=next_year.new, name=segment.show.name)
    CustomField.objects.filter(season=next_year.new).delete()
    day = (band.event.date + YEAR).isoformat()
    url = reverse("event-again", args=[band.event.pk])
    told = {"name": "Homecoming", "date": day}
    said = text(client_of(cast, "staff").post(url, told, follow=True))
    assert "The field Old arena is none of this season" in said
    made = Event.objects.get(season=next_year.new)
    assert made.segments.get(name=segment.name).show == again
    assert made.field_type == "60 ft", "the field is none of this season's"


def test_the_uniform_is_asked_of_this_seasons_instruments(band: Band, cast: Cast) -> None:
    """Of instruments of the same name; a kind that only others wore is not asked of everybody."""
    make_store_rows(band.season, cast.staff, *list(band.members.values())[:2])
    jacket, hat = Kind.objects.order_by("pk")[:2]
    trumpet = band.parts["trumpet"].instrument
    gone = Instrument.objects.create(season=band.season, name="Glass harp")
    set_worn(actor=cast.staff, of=band.event, kinds={jacket: [trumpet], hat: [gone]})
    season = band.season
    wanted = Wanted("Next", season.starts + YEAR, season.ends + YEAR)
    new = start_next_season(actor=cast.director, season=season, wanted=wanted).new
    Instrument.objects.filter(season=new, name="Glass harp").delete()
    url = reverse("event-again", args=[band.event.pk])
    day = (band.event.date + YEAR).isoformat()
    client_of(cast, "staff").post(url, {"name": "Homecoming", "date": day})
    worn = Worn.objects.get(event__season=new)
    assert worn.kind == jacket
    assert [(i.name, i.season_id) for i in worn.instruments.all()] == [(trumpet.name, new.pk)]


def test_what_cannot_be_is_said(band: Band, cast: Cast, next_year: Carried) -> None:
    client = client_of(cast, "staff")
    url = reverse("event-again", args=[band.event.pk])
    said = client.post(url, {"name": "Homecoming", "date": band.event.date.isoformat()})
    assert "outside the season" in text(said)
    assert not Event.objects.filter(season=next_year.new).exists()
    this_year = Event.objects.create(
        season=next_year.new, name="Now", date=next_year.new.starts, time_zone="UTC"
    )
    assert client.get(reverse("event-again", args=[this_year.pk])).status_code == 404


def test_a_rehearsal_keeps_its_blocks(band: Band, cast: Cast, next_year: Carried) -> None:
    rehearsal = Event.objects.get(season=band.season, kind="rehearsal")
    url = reverse("event-again", args=[rehearsal.pk])
    day = (rehearsal.date + YEAR).isoformat()
    client_of(cast, "staff").post(url, {"name": "Tuesday", "date": day})
    made = Event.objects.get(season=next_year.new)
    blocks = [(b.starts, b.ends, b.what) for b in rehearsal.blocks.all()]
    assert blocks and [(b.starts, b.ends, b.what) for b in made.blocks.all()] == blocks
    assert all(b.show is None or b.show.season == next_year.new for b in made.blocks.all())
