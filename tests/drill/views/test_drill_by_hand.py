"""Versions, sets, places and positions written by hand."""

from __future__ import annotations

import json
from typing import Any

import pytest
from django.http import QueryDict
from django.test import Client
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from bandops.lib.errors import Overtaken, Refused
from drill import queries
from drill.core.field import END_LINE, FIELD_TYPES, FIELD_WIDTH, UNITS_PER_STEP
from drill.core.spoken import Style
from drill.forms.positions import Line, PositionsForm
from drill.models import DrillSet, Lineup, Path, Place, PlaceMap, Position, Show, ShowVersion
from drill.services.entering import Entry
from drill.services.positions import Point, save_positions
from drill.services.writing import Writer
from tests.architecture.many import add_drill
from tests.factories import Band, Cast
from tests.lib.imports_help import words

STEP = UNITS_PER_STEP
ENTRIES = [
    Entry(Writer(kind, Style(from_field, sixteenths, rounded)))
    for kind in FIELD_TYPES.values()
    for from_field in (False, True)
    for sixteenths in (False, True)
    for rounded in (False, True)
]
POINTS = st.tuples(st.integers(-END_LINE, END_LINE), st.integers(0, FIELD_WIDTH))


def filled(entry: Entry, before: Point | None, **typed: str) -> PositionsForm:
    """The form of one line as a browser sends it back, with what was typed."""
    line = Line((1, 2), "1-1", before)
    shown = PositionsForm(entry, [line])
    data = QueryDict(mutable=True)
    for name in shown.fields:
        data[name] = str(shown[name].value() or "")
    data.update({f"{way}-1-2": text for way, text in typed.items()})
    return PositionsForm(entry, [line], data)


@given(st.sampled_from(ENTRIES), POINTS)
def test_a_form_sent_back_untouched_changes_nothing(entry: Entry, point: Point) -> None:
    form = filled(entry, point)
    assert form.is_valid(), form.errors
    assert form.points == {}


@given(st.sampled_from([e for e in ENTRIES if e.writer.style.sixteenths]), POINTS, POINTS)
def test_sixteenths_written_and_read_keep_exact_units(
    entry: Entry, before: Point, point: Point
) -> None:
    """Whatever is written in sixteenths comes back to the unit, as far as its words can say it."""
    exact = entry.writer.parse(entry.writer.place(*point))
    error = entry.writer.error(*point)
    assert (exact[0] - point[0], exact[1] - point[1]) in (error, (-error[0], -error[1]))
    x, y = entry.writer.across(exact[0]), entry.writer.depth(exact[1])
    form = filled(entry, before, across=x, depth=y)
    assert form.is_valid(), form.errors
    if (x, y) != (entry.writer.across(before[0]), entry.writer.depth(before[1])):
        wanted = (
            before[0] if x == entry.writer.across(before[0]) else exact[0],
            before[1] if y == entry.writer.depth(before[1]) else exact[1],
        )
        assert form.points == {(1, 2): wanted}
    else:
        assert form.points == {}


@given(st.sampled_from(ENTRIES), st.integers(-1280, 1280), st.integers(0, 1365))
def test_numbers_are_steps_whatever_the_words_are(entry: Entry, x: int, y: int) -> None:
    form = filled(entry, None, across=f"{x / 16}", depth=f"{y / 16}")
    assert form.is_valid(), form.errors
    assert form.points == {(1, 2): (x * STEP // 16, y * STEP // 16)}


def test_one_way_alone_keeps_the_other_exact() -> None:
    form = filled(ENTRIES[0], (1001, 20_003), across="side 2, on the 45")
    assert form.is_valid()
    assert form.points == {(1, 2): (8 * STEP, 20_003)}


@pytest.mark.parametrize(
    ("typed", "field"),
    [
        ({"across": ""}, "across-1-2"),
        ({"depth": ""}, "depth-1-2"),
        ({"across": "side 3"}, "across-1-2"),
        ({"depth": "6 behind the moon"}, "depth-1-2"),
        ({"depth": "99999"}, "depth-1-2"),
        ({"was": "[]"}, "__all__"),
        ({"was": "not JSON"}, "__all__"),
    ],
)
def test_what_is_wrong_is_tied_to_its_field(typed: dict[str, str], field: str) -> None:
    form = filled(ENTRIES[0], (0, 20_003))
    data = form.data.copy()  # type: ignore[attr-defined]
    data.update({name if name == "was" else f"{name}-1-2": t for name, t in typed.items()})
    form = PositionsForm(ENTRIES[0], form.lines, data)
    assert not form.is_valid()
    assert list(form.errors) == [field]
    assert not form.points


# Pages


@pytest.fixture
def version(band: Band, db: None) -> ShowVersion:
    show = Show.objects.create(season=band.season, name="Paper Kites")
    return add_drill(show, ["1-1", "1-2", "1-10"], sets=3)


@pytest.fixture
def client(signed_in: Any, cast: Cast) -> Client:
    made: Client = signed_in(cast.staff)
    return made


def publish_for(band: Band, version: ShowVersion) -> None:
    versions = {str(version.show_id): version.pk}
    Lineup.objects.create(event=band.event, state="published", number=1, show_versions=versions)


def sent(client: Client, url: str, **typed: str) -> Any:
    """Post a page of positions as it stands, with what was typed."""
    form = client.get(url).context["form"]
    data = {name: str(form[name].value() or "") for name in form.fields}
    return client.post(url, data | typed)


def labels(version: ShowVersion) -> list[tuple[int, str]]:
    return list(version.sets.order_by("order").values_list("order", "label"))


def test_many_places_are_written_at_once(client: Client, version: ShowVersion) -> None:
    it = version.sets.get(label="2")
    one, two, ten = (Place.objects.get(label=x, show=version.show) for x in ("1-1", "1-2", "1-10"))
    url = reverse("set-positions", args=[it.pk])
    page = client.get(url)
    assert [r["line"].title for r in page.context["rows"]] == ["1-1", "1-2", "1-10"]
    typed = {
        f"across-{it.pk}-{one.pk}": "S1 3 1/2 out 40",
        f"depth-{it.pk}-{one.pk}": "28.5",
        f"across-{it.pk}-{two.pk}": "",
        f"depth-{it.pk}-{two.pk}": "",
    }
    assert sent(client, url, **typed).status_code == 302
    stands = {p.place_id: (p.x, p.y) for p in Position.objects.filter(set=it)}
    assert stands == {one.pk: (round(-19.5 * STEP), round(28.5 * STEP)), ten.pk: (1440, 1440)}
    assert Position.objects.filter(set__version=version).count() == 8


def test_a_slip_that_makes_a_move_impossible_is_said_at_once(
    client: Client, version: ShowVersion
) -> None:
    it, one = version.sets.get(label="2"), version.show.places.get(label="1-1")
    url = reverse("set-positions", args=[it.pk])
    typed = {f"across-{it.pk}-{one.pk}": "side 1, on the 10", f"depth-{it.pk}-{one.pk}": "0"}
    assert sent(client, url, **typed).status_code == 302
    said = words(client.get(url))
    assert "1 place changed." in said
    assert said.count("New warning, set 2, 1-1: ") == 1, "the way there; the way back is set 3"
    assert said.count("New warning, set 3, 1-1: ") == 1
    typed[f"depth-{it.pk}-{one.pk}"] = "1"
    sent(client, url, **typed)
    assert "New warning" not in words(client.get(url)), "what was warned of before is no news"


def test_one_place_is_written_across_its_sets(client: Client, version: ShowVersion) -> None:
    place = Place.objects.get(label="1-2", show=version.show)
    sets = {s.label: s.pk for s in version.sets.all()}
    url = reverse("place-positions", args=[version.pk, place.pk])
    typed = {f"depth-{pk}-{place.pk}": "on the front hash" for pk in sets.values()}
    page = sent(client, url, **typed)
    assert page.status_code == 302
    hashes = Position.objects.filter(place=place).values_list("y", flat=True)
    assert set(hashes) == {FIELD_TYPES["60 ft"].front_hash}


def test_an_error_loses_nothing_that_was_typed(client: Client, version: ShowVersion) -> None:
    it, place = version.sets.get(label="1"), version.show.places.get(label="1-1")
    typed = {f"across-{it.pk}-{place.pk}": "side 7", f"depth-{it.pk}-{place.pk}": "12"}
    page = sent(client, reverse("set-positions", args=[it.pk]), **typed)
    text = words(page)
    assert 'value="side 7"' in text
    assert 'value="12"' in text
    assert 'aria-invalid="true"' in text
    assert Position.objects.get(set=it, place=place).y == 0


def test_what_was_moved_meanwhile_is_not_overwritten(client: Client, version: ShowVersion) -> None:
    it = version.sets.get(label="1")
    one, two = (version.show.places.get(label=x) for x in ("1-1", "1-2"))
    url = reverse("set-positions", args=[it.pk])
    form = client.get(url).context["form"]
    data = {name: str(form[name].value() or "") for name in form.fields}
    Position.objects.filter(set=it, place__in=[one, two]).update(x=8 * STEP)
    data[f"across-{it.pk}-{one.pk}"] = "side 1, on the 45"
    page = client.post(url, data)
    assert "Somebody moved it meanwhile" in words(page)
    form = page.context["form"]
    again = {name: str(form[name].value() or "") for name in form.fields}
    assert client.post(url, again).status_code == 302
    stands = {p.place_id: p.x for p in Position.objects.filter(set=it)}
    assert stands[one.pk] == -8 * STEP
    assert stands[two.pk] == 8 * STEP, "what nobody typed here stays as the other moved it"


def test_the_service_looks_again_before_it_writes(cast: Cast, version: ShowVersion) -> None:
    it, place = version.sets.get(label="1"), version.show.places.get(label="1-1")
    spot = (it.pk, place.pk)
    with pytest.raises(Overtaken):
        save_positions(
            actor=cast.staff, version=version, points={spot: (5, 5)}, seen={spot: (1, 1)}
        )
    assert Position.objects.get(set=it, place=place).x == 0


def test_words_say_how_far_off_they_are(client: Client, version: ShowVersion) -> None:
    it, place = version.sets.get(label="1"), version.show.places.get(label="1-1")
    Position.objects.filter(set=it, place=place).update(x=8 * STEP + 45, y=0)
    page = words(client.get(reverse("set-positions", args=[it.pk])))
    assert "The words are off by 1.4 inches across." in page


def test_sets_are_added_changed_moved_and_removed(client: Client, version: ShowVersion) -> None:
    first = version.sets.get(label="1")
    url = reverse("sets", args=[version.pk])
    data = {"label": "1A", "counts": 4, "tempo": 144, "is_between": "on", "after": first.pk}
    assert client.post(url, data).status_code == 302
    assert labels(version) == [(1, "1"), (2, "1A"), (3, "2"), (4, "3")]
    made = version.sets.get(label="1A")
    assert (made.counts, made.tempo, made.is_between) == (4, 144, True)
    assert "There is a set 1A already." in words(client.post(url, data))
    client.post(reverse("set", args=[made.pk]), {"label": "1B", "counts": 6})
    made.refresh_from_db()
    assert (made.label, made.counts, made.tempo, made.is_between) == ("1B", 6, None, False)
    client.post(reverse("set-move", args=[made.pk]), {"way": "later"})
    assert labels(version) == [(1, "1"), (2, "2"), (3, "1B"), (4, "3")]
    for _ in range(5):
        client.post(reverse("set-move", args=[made.pk]), {"way": "earlier"})
    assert labels(version) == [(1, "1B"), (2, "1"), (3, "2"), (4, "3")]
    client.post(reverse("set-remove", args=[made.pk]))
    assert labels(version) == [(1, "1"), (2, "2"), (3, "3")]


def test_a_version_of_a_published_lineup_stays(
    band: Band, client: Client, version: ShowVersion
) -> None:
    publish_for(band, version)
    it, place = version.sets.get(label="1"), version.show.places.get(label="1-1")
    before = list(Position.objects.order_by("pk").values_list("x", "y"))
    url = reverse("set-positions", args=[it.pk])
    assert "Start a new version as a copy" in words(client.get(url))
    page = sent(client, url, **{f"across-{it.pk}-{place.pk}": "5"})
    assert "A published lineup was made for Paper Kites 1" in words(page)
    client.post(reverse("sets", args=[version.pk]), {"label": "9", "counts": 8})
    client.post(reverse("set", args=[it.pk]), {"label": "9", "counts": 8})
    client.post(reverse("set-move", args=[it.pk]), {"way": "later"})
    client.post(reverse("set-remove", args=[it.pk]))
    client.post(reverse("place-remove", args=[place.pk]))
    assert labels(version) == [(1, "1"), (2, "2"), (3, "3")]
    assert list(Position.objects.order_by("pk").values_list("x", "y")) == before


def test_a_new_version_begins_as_a_copy(client: Client, version: ShowVersion) -> None:
    it, place = version.sets.get(label="2"), version.show.places.get(label="1-1")
    Path.objects.create(set=it, place=place, words="forward 8")
    DrillSet.objects.filter(pk=it.pk).update(tempo=120, is_between=True)
    url = reverse("versions", args=[version.show_id])
    page = client.get(url)
    assert page.context["form"].initial["copy_of"] == version.pk
    assert client.post(url, {"label": "October", "copy_of": version.pk}).status_code == 302
    made = ShowVersion.objects.get(label="October")
    assert queries.current_versions({version.show_id}) == {version.show_id: version}
    client.post(reverse("version-use", args=[made.pk]))
    assert queries.current_versions({version.show_id}) == {version.show_id: made}

    def content(v: ShowVersion) -> list[Any]:
        rows = Position.objects.filter(set__version=v).order_by("set__order", "place_id")
        return list(
            rows.values_list(
                "set__order", "set__label", "set__counts", "set__tempo", "place_id", "x", "y"
            )
        )

    assert content(made) == content(version)
    assert made.sets.get(label="2").is_between
    assert Path.objects.get(set__version=made).words == "forward 8"
    assert "There is a version October already." in words(client.post(url, {"label": "October"}))
    client.post(url, {"label": "Bare", "copy_of": ""})
    assert not ShowVersion.objects.get(label="Bare").sets.exists()


def test_places_are_added_renamed_and_removed(client: Client, version: ShowVersion) -> None:
    url = reverse("places", args=[version.show_id])
    client.post(url, {"label": "9-1"})
    assert "There is a place 9-1 already." in words(client.post(url, {"label": "9-1"}))
    place = version.show.places.get(label="9-1")
    client.post(reverse("place-edit", args=[place.pk]), {"label": "9-2"})
    place.refresh_from_db()
    assert place.label == "9-2"
    client.post(reverse("place-remove", args=[place.pk]))
    assert not version.show.places.filter(pk=place.pk).exists()


def test_a_spot_goes_on_marching_a_place_that_is_renamed(
    band: Band, client: Client, version: ShowVersion
) -> None:
    place = version.show.places.get(label="1-2")
    client.post(reverse("place-edit", args=[place.pk]), {"label": "north end"})
    made = PlaceMap.objects.get(show=version.show)
    assert (made.spot, made.place_id) == (band.spots["1-2"], place.pk)
    other = version.show.places.get(label="1-10")
    client.post(reverse("place-edit", args=[other.pk]), {"label": "1-3"})
    assert PlaceMap.objects.count() == 1, "spot 1-3 marches it by its own label"


def test_a_set_of_four_hundred_places_fits_one_form(client: Client, version: ShowVersion) -> None:
    places = Place.objects.bulk_create(Place(show=version.show, label=f"p{n}") for n in range(397))
    it = version.sets.get(label="1")
    Position.objects.bulk_create(Position(set=it, place=p, x=0, y=0) for p in places)
    url = reverse("set-positions", args=[it.pk])
    typed = {f"across-{it.pk}-{p.pk}": "-4" for p in places}
    assert sent(client, url, **typed).status_code == 302
    assert Position.objects.filter(set=it, x=-4 * STEP).count() == 397


def test_refusals_are_for_the_person(band: Band, cast: Cast, version: ShowVersion) -> None:
    publish_for(band, version)
    with pytest.raises(Refused, match="start a new version to change it"):
        save_positions(actor=cast.staff, version=version, points={}, seen={})


def test_the_remembered_places_are_plain_numbers(client: Client, version: ShowVersion) -> None:
    it = version.sets.get(label="2")
    form = client.get(reverse("set-positions", args=[it.pk])).context["form"]
    places = {p.label: p.pk for p in version.show.places.all()}
    assert json.loads(form["was"].value()) == {
        f"{it.pk}-{places[label]}": [n * STEP, n * STEP]
        for n, label in enumerate(("1-1", "1-2", "1-10"))
    }


@pytest.mark.parametrize(
    ("way", "typed"), [("across", "999"), ("across", "-405"), ("depth", "950")]
)
def test_a_number_far_off_any_field_is_refused_like_words(
    client: Client, version: ShowVersion, way: str, typed: str
) -> None:
    it, place = version.sets.get(label="1"), version.show.places.get(label="1-1")
    page = sent(
        client, reverse("set-positions", args=[it.pk]), **{f"{way}-{it.pk}-{place.pk}": typed}
    )
    assert f"{typed} steps is far off any field" in words(page)
    assert client.get(reverse("set-positions", args=[it.pk])).status_code == 200


@pytest.mark.parametrize("was", ['{"1-2": [1e400, 0]}', "[" * 100_000])
def test_a_broken_memory_of_the_page_is_no_error(
    client: Client, version: ShowVersion, was: str
) -> None:
    url = reverse("set-positions", args=[version.sets.get(label="1").pk])
    page = sent(client, url, was=was)
    assert "changed meanwhile" in words(page)


def test_a_place_may_be_called_by_any_sign(client: Client, version: ShowVersion) -> None:
    """One that is a digit for writing and none for counting (Unicode: U+1369, ETHIOPIC DIGIT
    ONE, from memory)."""
    Place.objects.create(show=version.show, label="\u1369")
    for name in ("show", "places", "show-words"):
        assert client.get(reverse(name, args=[version.show_id])).status_code == 200
    url = reverse("set-positions", args=[version.sets.get(label="1").pk])
    assert client.get(url).status_code == 200


def test_a_place_that_cannot_be_read_is_not_taken_for_none(
    client: Client, band: Band, version: ShowVersion
) -> None:
    spot, place = band.spots["1-1"], version.show.places.get(label="1-2")
    PlaceMap.objects.create(show=version.show, spot=spot, place=place)
    url = reverse("show-place", args=[version.show_id])
    page = client.post(url, {"spot": spot.pk, "place": "abc"}, follow=True)
    assert "Choose a place." in words(page)
    assert PlaceMap.objects.get().place == place
