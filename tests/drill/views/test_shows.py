"""Shows as pictures and tables, count by count, and set sheets of spots."""

from __future__ import annotations

import base64
import io
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.accounts.models import User
from drill.core.field import UNITS_PER_STEP as STEP
from drill.models import (
    Cover,
    CoverPlan,
    DrillSet,
    DrillSettings,
    Lesson,
    Path,
    Place,
    PlaceMap,
    Position,
    Show,
    ShowVersion,
)
from drill.pdf.set_sheets import chosen, picture_image
from drill.pictures import Picture
from drill.queries import field_types
from drill.services.motion import frames_of
from drill.services.set_sheets import close_picture, set_sheets
from drill.services.writing import writer_of
from tests.architecture.world import publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def show(band: Band) -> Show:
    """Two sets and a between-set: rank 1 in a line, four steps apart, that goes 8 back."""
    show = Show.objects.get(name="Tidewheel")
    version = ShowVersion.objects.create(show=show, label="one", order=1)
    places = [Place.objects.create(show=show, label=f"1-{n}") for n in (1, 2, 3, 10)]
    for order, (label, counts, depth) in enumerate((("1", 0, 20), ("1A", 8, 24), ("2", 16, 40)), 1):
        it = DrillSet.objects.create(
            version=version, order=order, label=label, counts=counts, tempo=144 if counts else None
        )
        it.is_between = label == "1A"
        it.save()
        for n, place in enumerate(places):
            Position.objects.create(set=it, place=place, x=4 * n * STEP, y=depth * STEP)
    return show


def look(client: Client, show: Show, **query: str | int) -> Any:
    page = client.get(reverse("show", args=[show.pk]), query)
    assert page.status_code == 200
    return page.context


def test_the_whole_field_of_a_set_as_picture_and_table(
    show: Show, cast: Cast, signed_in: SignIn
) -> None:
    context = look(signed_in(cast.staff), show, set="2")
    assert [line[0] for line in context["lines"]] == ["1-1", "1-2", "1-3", "1-10"]
    first = context["lines"][0]
    assert first[1:] == ("on the 50", "8 behind the front hash", "16 steps in 16 counts, 8.0-to-5")
    assert len(context["picture"].everyone) == 4
    assert context["total_counts"] == 24


def test_one_count_into_the_way(show: Show, cast: Cast, signed_in: SignIn) -> None:
    context = look(signed_in(cast.staff), show, set="2", count=8)
    assert context["lines"][0][2] == "on the front hash"
    assert "after count 8 of 16" in context["picture"].title


def test_a_rank_and_a_place_with_its_neighbours_are_close_up(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    staff = signed_in(cast.staff)
    context = look(staff, show, set="2", rank=band.ranks["1"].pk)
    assert [d.label for d in context["picture"].named] == ["1-1", "1-2", "1-3"]
    near = look(staff, show, set="2", near="1-2")
    picture = near["picture"]
    assert picture.me.label == "1-2" and picture.close
    assert [d.label for d in picture.named] == ["1-1", "1-3", "1-10"]
    assert len(picture.ways) == 4


@pytest.mark.parametrize(
    "query",
    [
        {"set": "nowhere"},
        {"count": "-5"},
        {"count": "x"},
        {"count": "9" * 30},
        {"near": "9-9"},
        {"rank": "x"},
        {"rank": "999999"},
        {"version": "999999"},
        {"version": "'"},
    ],
)
def test_an_odd_address_shows_the_show(
    show: Show, cast: Cast, signed_in: SignIn, query: dict[str, str]
) -> None:
    context = look(signed_in(cast.staff), show, **query)
    assert context["frame"].label == "1"


def test_a_show_without_sets_says_so(band: Band, cast: Cast, signed_in: SignIn) -> None:
    staff, bare = signed_in(cast.staff), Show.objects.get(name="Tidewheel")
    assert b"No coordinates yet" in staff.get(reverse("show", args=[bare.pk])).content
    ShowVersion.objects.create(show=bare, label="empty", order=1)
    assert staff.get(reverse("show", args=[bare.pk])).status_code == 200
    assert b"Tidewheel" in staff.get(reverse("drill")).content


def test_a_part_of_the_page_is_asked_for_alone(show: Show, cast: Cast, signed_in: SignIn) -> None:
    page = signed_in(cast.staff).get(
        reverse("show", args=[show.pk]), {"set": "1A", "count": "4"}, headers={"HX-Request": "true"}
    )
    assert b"<html" not in page.content and b"after count 4 of 8" in page.content


def test_the_moving_picture_gets_every_set(show: Show, cast: Cast, signed_in: SignIn) -> None:
    version = show.versions.get()
    Path.objects.create(
        set=version.sets.get(label="1A"),
        place=show.places.get(label="1-1"),
        words="facing back, forward 4, mark time 4",
    )
    data = signed_in(cast.staff).get(reverse("motion", args=[version.pk])).json()
    assert [s["label"] for s in data["sets"]] == ["1", "1A", "2"]
    assert [s["counts"] for s in data["sets"]] == [0, 8, 16]
    assert data["sets"][1]["tempo"] == 144
    track = data["sets"][1]["tracks"]["1-1"]
    assert len(track) == 9 and track[4] == track[8] == data["sets"][1]["points"]["1-1"]


def test_from_the_field_every_picture_is_turned(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    staff, version, spot = signed_in(cast.staff), show.versions.get(), band.spots["1-2"]
    motion = reverse("motion", args=[version.pk])
    place = staff.get(motion).json()["sets"][0]["points"]["1-2"]
    DrillSettings.objects.create(season=band.season, seen_from="field")
    _, _, width, height = Picture(field_types(band.season)["60 ft"], ()).window
    turned = [width - place[0], height - place[1]]
    assert staff.get(motion).json()["sets"][0]["points"]["1-2"] == turned
    for query in ({}, {"rank": band.ranks["1"].pk}, {"near": "1-2"}):
        assert look(staff, show, **query)["picture"].from_field
    sheet = staff.get(reverse("set-sheet", args=[show.pk, spot.pk]))
    assert sheet.context["sheet"].sets[0].across == "side 1, 4 outside the 50"
    assert sheet.context["picture"].me_at == tuple(turned)
    assert sheet.context["motion"]["sets"][0]["points"]["1-2"] == tuple(turned)
    assert "with the front at the top" in sheet.text


def test_ways_are_written_as_finely_as_places(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    DrillSettings.objects.create(season=band.season, precision="sixteenth")
    at = Position.objects.get(set__label="2", place__label="1-2")
    at.y += STEP // 16
    at.save()
    line = look(signed_in(cast.staff), show, set="2", near="1-2")["lines"][0]
    assert line[2:] == ("8 1/16 behind the front hash", "16 1/16 steps in 16 counts, 8.0-to-5")
    sheet = signed_in(cast.staff).get(reverse("set-sheet", args=[show.pk, band.spots["1-2"].pk]))
    assert sheet.context["sheet"].sets[2].way == "16 1/16 steps in 16 counts, 8.0-to-5"


def test_a_sheet_is_for_those_who_work_on_the_spot(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    spot, jon = band.spots["1-2"], band.members["Jon Pell"]
    url = reverse("set-sheet", args=[show.pk, spot.pk])
    for allowed in (cast.staff, cast.leader):
        assert signed_in(allowed).get(url).status_code == 200
    from tests.factories.cast import account_of

    client = signed_in(account_of(jon))
    assert client.get(url).status_code == 403
    Cover.objects.create(spot=spot, member=jon, order=1)
    page = client.get(url)
    assert page.status_code == 200 and b"Set 1A (between)" in page.content
    assert page["X-Offline-Copy"], "it is kept for the field"
    assert client.get(reverse("set-sheet-print", args=[show.pk, spot.pk])).status_code == 200


def test_a_spot_that_marches_another_place_has_that_places_sheet(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    spot = band.spots["1-2"]
    PlaceMap.objects.create(show=show, spot=spot, place=show.places.get(label="1-10"))
    page = signed_in(cast.staff).get(reverse("set-sheet", args=[show.pk, spot.pk]))
    assert page.context["sheet"].place == "1-10"
    assert page.context["sheet"].sets[0].across == "side 2, 4 outside the 45"


def test_a_spot_that_does_not_stand_in_the_show_says_so(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    url = reverse("set-sheet", args=[show.pk, band.spots["2-1"].pk])
    assert b"No place of this spot stands" in signed_in(cast.staff).get(url).content


def test_the_sheets_of_a_rank_on_paper(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    answer = signed_in(cast.leader).get(
        reverse("set-sheets-of-rank", args=[show.pk, band.ranks["1"].pk])
    )
    pages = [page.extract_text() for page in PdfReader(io.BytesIO(answer.content)).pages]
    assert len(pages) == 3
    assert "8 behind the front hash" in pages[1] and "16 steps in 16 counts, 8.0-to-5" in pages[1]
    other = reverse("set-sheets-of-rank", args=[show.pk, band.ranks["2"].pk])
    assert signed_in(cast.leader).get(other).status_code == 403


def test_the_pictures_of_a_sheet_are_drawn_on_paper(band: Band, show: Show) -> None:
    """A picture that is no whole XML would be left out of the print without a word."""
    writer = writer_of(band.season, show.field_type)
    version = show.versions.get()
    frames = frames_of(version, band.season)
    (sheet,) = set_sheets(frames, version, [band.spots["1-2"]], writer)
    assert chosen(sheet) == [0, 1, 2]
    for index in chosen(sheet):
        picture = close_picture(frames, index, sheet.place, writer)
        kind, content = picture_image(picture).split(",")
        assert kind == "data:image/svg+xml;base64"
        drawn = ElementTree.fromstring(base64.b64decode(content))
        assert drawn.findall("{*}g[@class='named']"), "the spot's neighbours"
        sides = [t.text for t in drawn.findall("{*}g[@class='sides']/{*}text[@class='halo']")]
        assert sides == ["side 1", "back", "side 2"]


def test_the_sheet_stays_that_of_the_published_lineup(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    publish(band, cast.staff)
    newer = ShowVersion.objects.create(show=show, label="two", order=2)
    DrillSet.objects.create(version=newer, order=1, label="1")
    url = reverse("set-sheet", args=[show.pk, band.spots["1-2"].pk])
    assert signed_in(cast.staff).get(url).context["version"].label == "one"


def test_what_an_alternate_has_to_learn(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    gus, spot = band.members["Gus Tamm"], band.spots["1-2"]
    Lesson.objects.create(plan=CoverPlan.objects.create(event=band.event), member=gus, spot=spot)
    url = reverse("relearn", args=[band.event.pk, spot.pk, gus.pk])
    page = signed_in(cast.staff).get(url)
    (study,) = page.context["studies"]
    assert study["words"] == "3 of 3 sets new"
    assert study["lines"][0] == (
        "1",
        "side 2, 4 outside the 50",
        "12 in front of the front hash",
        "no known place",
    )
    ana = band.members["Ana Núñez"]
    held = reverse("relearn", args=[band.event.pk, band.spots["1-3"].pk, ana.pk])
    (other,) = signed_in(cast.staff).get(held).context["studies"]
    assert other["words"].startswith("3 of 3 sets new, largest ")
    assert signed_in(cast.other).get(url).status_code == 403
