"""Shows as pictures and tables, count by count."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drill.field.core.field import UNITS_PER_STEP as STEP
from drill.field.models import DrillSettings
from drill.field.queries import field_types
from drill.shows.models import Dot, Path, Position, Show, ShowVersion
from drill.shows.pictures.picture import Picture
from tests.drill.shows.show_pages import SignIn, show
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = pytest.mark.django_db


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


def test_a_rank_and_a_dot_with_its_neighbours_are_close_up(
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
        dot=show.dots.get(label="1-1"),
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
    dot = staff.get(motion).json()["sets"][0]["points"]["1-2"]
    DrillSettings.objects.create(season=band.season, seen_from="field")
    _, _, width, height = Picture(field_types(band.season)["60 ft"], ()).window
    turned = [width - dot[0], height - dot[1]]
    assert staff.get(motion).json()["sets"][0]["points"]["1-2"] == turned
    for query in ({}, {"rank": band.ranks["1"].pk}, {"near": "1-2"}):
        assert look(staff, show, **query)["picture"].from_field
    sheet = staff.get(reverse("set-sheet", args=[show.pk, spot.pk]))
    assert sheet.context["sheet"].sets[0].across == "side 1, 4 outside the 50"
    assert sheet.context["picture"].me_at == tuple(turned)
    assert sheet.context["player"].motion["sets"][0]["points"]["1-2"] == tuple(turned)
    assert "with the front at the top" in sheet.text


def test_ways_are_written_as_finely_as_coordinates(
    band: Band, show: Show, cast: Cast, signed_in: SignIn
) -> None:
    DrillSettings.objects.create(season=band.season, precision="sixteenth")
    at = Position.objects.get(set__label="2", dot__label="1-2")
    at.y += STEP // 16
    at.save()
    line = look(signed_in(cast.staff), show, set="2", near="1-2")["lines"][0]
    assert line[2:] == ("8 1/16 behind the front hash", "16 1/16 steps in 16 counts, 8.0-to-5")
    sheet = signed_in(cast.staff).get(reverse("set-sheet", args=[show.pk, band.spots["1-2"].pk]))
    assert sheet.context["sheet"].sets[2].way == "16 1/16 steps in 16 counts, 8.0-to-5"


TABS = ("show", "sets", "dots", "show-words", "version-checks", "versions")


def test_a_show_has_the_same_tabs_on_each_of_its_pages(
    show: Show, cast: Cast, signed_in: SignIn
) -> None:
    staff, version = signed_in(cast.staff), show.versions.get()
    of_version = ("sets", "version-checks")
    urls = [reverse(n, args=[version.pk if n in of_version else show.pk]) for n in TABS]
    for at, url in enumerate(urls):
        tabs = staff.get(url).context["tabs"]
        assert [tab.title for tab in tabs] == [
            "Picture",
            "Sets",
            "Dots",
            "Instructions",
            "Checks",
            "Versions",
        ]
        assert [tab.url.partition("?")[0] for tab in tabs] == urls
        assert [n for n, tab in enumerate(tabs) if tab.is_current] == [at]
    page = staff.get(urls[1]).text
    assert f'<a href="{urls[1]}" aria-current="page">Sets</a>' in page


def test_a_show_without_versions_has_no_tabs_that_lead_nowhere(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    bare = Show.objects.get(name="Tidewheel")
    tabs = signed_in(cast.staff).get(reverse("dots", args=[bare.pk])).context["tabs"]
    assert [tab.title for tab in tabs] == ["Picture", "Dots", "Instructions", "Versions"]


def test_the_table_of_sets_marks_the_one_in_the_picture(
    show: Show, cast: Cast, signed_in: SignIn
) -> None:
    staff, url = signed_in(cast.staff), reverse("show", args=[show.pk])
    page = staff.get(url, {"set": "1A", "near": "1-2"})
    assert page.text.count('<tr data-row="1A" aria-current="true">') == 1
    assert page.text[page.text.index("<main") :].count('aria-current="true"') == 1
    row = page.context["rows"][2]
    assert (row.label, row.across) == ("2", "side 2, 4 outside the 50")
    assert row.way == "16 steps in 16 counts, 8.0-to-5"
    assert 'rel="next"' in page.text and "?set=2&amp;near=1-2" in page.text
    whole = staff.get(url, {"near": "1-2", "rank": "all"}).context
    assert not whole["by_dot"] and whole["picture"].me is None


def test_dots_are_paged_and_found_by_how_they_begin(
    show: Show, cast: Cast, signed_in: SignIn
) -> None:
    Dot.objects.bulk_create(Dot(show=show, label=f"7-{n}") for n in range(1, 40))
    staff, url = signed_in(cast.staff), reverse("dots", args=[show.pk])
    first, second = (staff.get(url, {"page": n}).context["rows"] for n in (1, 2))
    assert len(first) == 25 and len(second) == 18
    found = staff.get(url, {"q": "7-3"}).context["rows"]
    assert [dot.label for dot, _ in found] == ["7-3", *(f"7-3{n}" for n in range(10))]
    assert "No dot begins with" in staff.get(url, {"q": "9"}).text
