"""Versions, sets and dots written by hand."""

from __future__ import annotations

from typing import Any

from django.test import Client
from django.urls import reverse

from drill.events import queries as event_queries
from drill.shows.models import Dot, DotMap, DrillSet, Path, Position, ShowVersion
from tests.drill.shows.drill_by_hand import client, publish_for, sent, version
from tests.factories import Band
from tests.lib.imports_help import words

__all__ = ["client", "version"]


def labels(version: ShowVersion) -> list[tuple[int, str]]:
    return list(version.sets.order_by("order").values_list("order", "label"))


def test_sets_are_added_changed_moved_and_removed(client: Client, version: ShowVersion) -> None:
    first = version.sets.get(label="1")
    url = reverse("sets", args=[version.pk])
    data = {"label": "1A", "counts": 4, "tempo": 144, "is_subset": "on", "after": first.pk}
    assert client.post(url, data).status_code == 302
    assert labels(version) == [(1, "1"), (2, "1A"), (3, "2"), (4, "3")]
    made = version.sets.get(label="1A")
    assert (made.counts, made.tempo, made.is_subset) == (4, 144, True)
    assert "There is already a set 1A." in words(client.post(url, data))
    client.post(reverse("set", args=[made.pk]), {"label": "1B", "counts": 6})
    made.refresh_from_db()
    assert (made.label, made.counts, made.tempo, made.is_subset) == ("1B", 6, None, False)
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
    it, dot = version.sets.get(label="1"), version.show.dots.get(label="1-1")
    before = list(Position.objects.order_by("pk").values_list("x", "y"))
    url = reverse("set-positions", args=[it.pk])
    assert "Start a new version as a copy" in words(client.get(url))
    page = sent(client, url, **{f"across-{it.pk}-{dot.pk}": "5"})
    assert "A published lineup was made for Paper Kites 1" in words(page)
    client.post(reverse("sets", args=[version.pk]), {"label": "9", "counts": 8})
    client.post(reverse("set", args=[it.pk]), {"label": "9", "counts": 8})
    client.post(reverse("set-move", args=[it.pk]), {"way": "later"})
    client.post(reverse("set-remove", args=[it.pk]))
    client.post(reverse("dot-remove", args=[dot.pk]))
    assert labels(version) == [(1, "1"), (2, "2"), (3, "3")]
    assert list(Position.objects.order_by("pk").values_list("x", "y")) == before


def test_a_new_version_begins_as_a_copy(client: Client, version: ShowVersion) -> None:
    it, dot = version.sets.get(label="2"), version.show.dots.get(label="1-1")
    Path.objects.create(set=it, dot=dot, words="forward 8")
    DrillSet.objects.filter(pk=it.pk).update(tempo=120, is_subset=True)
    url = reverse("versions", args=[version.show_id])
    page = client.get(url)
    assert page.context["form"].initial["copy_of"] == version.pk
    assert client.post(url, {"label": "October", "copy_of": version.pk}).status_code == 302
    made = ShowVersion.objects.get(label="October")
    assert event_queries.current_versions({version.show_id}) == {version.show_id: version}
    client.post(reverse("version-use", args=[made.pk]))
    assert event_queries.current_versions({version.show_id}) == {version.show_id: made}

    def content(v: ShowVersion) -> list[Any]:
        rows = Position.objects.filter(set__version=v).order_by("set__order", "dot_id")
        return list(
            rows.values_list(
                "set__order", "set__label", "set__counts", "set__tempo", "dot_id", "x", "y"
            )
        )

    assert content(made) == content(version)
    assert made.sets.get(label="2").is_subset
    assert Path.objects.get(set__version=made).words == "forward 8"
    assert "There is already a version October." in words(client.post(url, {"label": "October"}))
    client.post(url, {"label": "Bare", "copy_of": ""})
    assert not ShowVersion.objects.get(label="Bare").sets.exists()


def test_dots_are_added_renamed_and_removed(client: Client, version: ShowVersion) -> None:
    url = reverse("dots", args=[version.show_id])
    client.post(url, {"label": "9-1"})
    assert "There is already a dot 9-1." in words(client.post(url, {"label": "9-1"}))
    dot = version.show.dots.get(label="9-1")
    client.post(reverse("dot-edit", args=[dot.pk]), {"label": "9-2"})
    dot.refresh_from_db()
    assert dot.label == "9-2"
    client.post(reverse("dot-remove", args=[dot.pk]))
    assert not version.show.dots.filter(pk=dot.pk).exists()


def test_a_spot_goes_on_marching_a_dot_that_is_renamed(
    band: Band, client: Client, version: ShowVersion
) -> None:
    dot = version.show.dots.get(label="1-2")
    client.post(reverse("dot-edit", args=[dot.pk]), {"label": "north end"})
    made = DotMap.objects.get(show=version.show)
    assert (made.spot, made.dot_id) == (band.spots["1-2"], dot.pk)
    other = version.show.dots.get(label="1-10")
    client.post(reverse("dot-edit", args=[other.pk]), {"label": "1-3"})
    assert DotMap.objects.count() == 1, "spot 1-3 marches it by its own label"


def test_a_dot_may_be_called_by_any_sign(client: Client, version: ShowVersion) -> None:
    """One that is a digit for writing and none for counting (Unicode: U+1369, ETHIOPIC DIGIT
    ONE, from memory)."""
    Dot.objects.create(show=version.show, label="\u1369")
    for name in ("show", "dots", "show-words"):
        assert client.get(reverse(name, args=[version.show_id])).status_code == 200
    url = reverse("set-positions", args=[version.sets.get(label="1").pk])
    assert client.get(url).status_code == 200


def test_a_dot_that_cannot_be_read_is_not_taken_for_none(
    client: Client, band: Band, version: ShowVersion
) -> None:
    spot, dot = band.spots["1-1"], version.show.dots.get(label="1-2")
    DotMap.objects.create(show=version.show, spot=spot, dot=dot)
    url = reverse("show-dot", args=[version.show_id])
    page = client.post(url, {"spot": spot.pk, "dot": "abc"}, follow=True)
    assert "Choose a dot." in words(page)
    assert DotMap.objects.get().dot == dot
