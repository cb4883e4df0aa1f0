"""Positions of a set and of a dot written by hand."""

from __future__ import annotations

import json

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Overtaken, Refused
from drill.field.core.field import FIELD_TYPES
from drill.shows.models import Dot, Position, ShowVersion
from drill.shows.services.positions import save_positions
from tests.drill.shows.drill_by_hand import STEP, client, publish_for, sent, version
from tests.factories import Band, Cast
from tests.lib.imports_help import words

__all__ = ["client", "version"]


def test_many_dots_are_written_at_once(client: Client, version: ShowVersion) -> None:
    it = version.sets.get(label="2")
    one, two, ten = (Dot.objects.get(label=x, show=version.show) for x in ("1-1", "1-2", "1-10"))
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
    stands = {p.dot_id: (p.x, p.y) for p in Position.objects.filter(set=it)}
    assert stands == {one.pk: (round(-19.5 * STEP), round(28.5 * STEP)), ten.pk: (1440, 1440)}
    assert Position.objects.filter(set__version=version).count() == 8


def test_a_slip_that_makes_a_move_impossible_is_said_at_once(
    client: Client, version: ShowVersion
) -> None:
    it, one = version.sets.get(label="2"), version.show.dots.get(label="1-1")
    url = reverse("set-positions", args=[it.pk])
    typed = {f"across-{it.pk}-{one.pk}": "side 1, on the 10", f"depth-{it.pk}-{one.pk}": "0"}
    assert sent(client, url, **typed).status_code == 302
    said = words(client.get(url))
    assert "1 dot changed." in said
    assert said.count("New warning, set 2, 1-1: ") == 1, "the way there; the way back is set 3"
    assert said.count("New warning, set 3, 1-1: ") == 1
    typed[f"depth-{it.pk}-{one.pk}"] = "1"
    sent(client, url, **typed)
    assert "New warning" not in words(client.get(url)), "what was warned of before is no news"


def test_one_dot_is_written_across_its_sets(client: Client, version: ShowVersion) -> None:
    dot = Dot.objects.get(label="1-2", show=version.show)
    sets = {s.label: s.pk for s in version.sets.all()}
    url = reverse("dot-positions", args=[version.pk, dot.pk])
    typed = {f"depth-{pk}-{dot.pk}": "on the front hash" for pk in sets.values()}
    page = sent(client, url, **typed)
    assert page.status_code == 302
    hashes = Position.objects.filter(dot=dot).values_list("y", flat=True)
    assert set(hashes) == {FIELD_TYPES["60 ft"].front_hash}


def test_an_error_loses_nothing_that_was_typed(client: Client, version: ShowVersion) -> None:
    it, dot = version.sets.get(label="1"), version.show.dots.get(label="1-1")
    typed = {f"across-{it.pk}-{dot.pk}": "side 7", f"depth-{it.pk}-{dot.pk}": "12"}
    page = sent(client, reverse("set-positions", args=[it.pk]), **typed)
    text = words(page)
    assert 'value="side 7"' in text
    assert 'value="12"' in text
    assert 'aria-invalid="true"' in text
    assert Position.objects.get(set=it, dot=dot).y == 0


def test_what_was_moved_meanwhile_is_not_overwritten(client: Client, version: ShowVersion) -> None:
    it = version.sets.get(label="1")
    one, two = (version.show.dots.get(label=x) for x in ("1-1", "1-2"))
    url = reverse("set-positions", args=[it.pk])
    form = client.get(url).context["form"]
    data = {name: str(form[name].value() or "") for name in form.fields}
    Position.objects.filter(set=it, dot__in=[one, two]).update(x=8 * STEP)
    data[f"across-{it.pk}-{one.pk}"] = "side 1, on the 45"
    page = client.post(url, data)
    assert "Somebody just moved it" in words(page)
    form = page.context["form"]
    again = {name: str(form[name].value() or "") for name in form.fields}
    assert client.post(url, again).status_code == 302
    stands = {p.dot_id: p.x for p in Position.objects.filter(set=it)}
    assert stands[one.pk] == -8 * STEP
    assert stands[two.pk] == 8 * STEP, "what nobody typed here stays as the other moved it"


def test_the_service_looks_again_before_it_writes(cast: Cast, version: ShowVersion) -> None:
    it, dot = version.sets.get(label="1"), version.show.dots.get(label="1-1")
    spot = (it.pk, dot.pk)
    with pytest.raises(Overtaken):
        save_positions(
            actor=cast.staff, version=version, points={spot: (5, 5)}, seen={spot: (1, 1)}
        )
    assert Position.objects.get(set=it, dot=dot).x == 0


def test_words_say_how_far_off_they_are(client: Client, version: ShowVersion) -> None:
    it, dot = version.sets.get(label="1"), version.show.dots.get(label="1-1")
    Position.objects.filter(set=it, dot=dot).update(x=8 * STEP + 45, y=0)
    page = words(client.get(reverse("set-positions", args=[it.pk])))
    assert "Rounded by 1.4 inches across." in page


def test_a_set_of_four_hundred_dots_is_written_page_by_page(
    client: Client, version: ShowVersion
) -> None:
    dots = Dot.objects.bulk_create(Dot(show=version.show, label=f"p{n}") for n in range(397))
    it = version.sets.get(label="1")
    Position.objects.bulk_create(Position(set=it, dot=p, x=0, y=0) for p in dots)
    url = reverse("set-positions", args=[it.pk])
    typed = {f"across-{it.pk}-{p.pk}": "-4" for p in dots}
    pages = client.get(url).context["page"].paginator.num_pages
    assert pages == 16
    for number in range(1, pages + 1):
        here = f"{url}?page={number}"
        assert sent(client, here, **typed)["Location"] == here
    assert Position.objects.filter(set=it, x=-4 * STEP).count() == 397


def test_refusals_are_for_the_person(band: Band, cast: Cast, version: ShowVersion) -> None:
    publish_for(band, version)
    with pytest.raises(Refused, match="start a new version to change it"):
        save_positions(actor=cast.staff, version=version, points={}, seen={})


def test_the_remembered_coordinates_are_plain_numbers(client: Client, version: ShowVersion) -> None:
    it = version.sets.get(label="2")
    form = client.get(reverse("set-positions", args=[it.pk])).context["form"]
    dots = {p.label: p.pk for p in version.show.dots.all()}
    assert json.loads(form["was"].value()) == {
        f"{it.pk}-{dots[label]}": [n * STEP, n * STEP]
        for n, label in enumerate(("1-1", "1-2", "1-10"))
    }


@pytest.mark.parametrize(
    ("way", "typed"), [("across", "999"), ("across", "-405"), ("depth", "950")]
)
def test_a_number_far_off_any_field_is_refused_like_words(
    client: Client, version: ShowVersion, way: str, typed: str
) -> None:
    it, dot = version.sets.get(label="1"), version.show.dots.get(label="1-1")
    page = sent(
        client, reverse("set-positions", args=[it.pk]), **{f"{way}-{it.pk}-{dot.pk}": typed}
    )
    assert f"{typed} steps is way off the field" in words(page)
    assert client.get(reverse("set-positions", args=[it.pk])).status_code == 200


@pytest.mark.parametrize("was", ['{"1-2": [1e400, 0]}', "[" * 100_000])
def test_a_broken_memory_of_the_page_is_no_error(
    client: Client, version: ShowVersion, was: str
) -> None:
    url = reverse("set-positions", args=[version.sets.get(label="1").pk])
    page = sent(client, url, was=was)
    assert "just changed" in words(page)
