"""Versions compared on their page: by set, by dot, by person."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.shows.models import Dot, DotMap, DrillSet, Position, Show, ShowVersion
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

STEP = 720


def version(show: Show, label: str, order: int, sets: dict[str, dict[str, int]]) -> ShowVersion:
    """A version of sets; each dot at so many units across, ten steps deep."""
    made = ShowVersion.objects.create(show=show, label=label, order=order)
    for n, (name, at) in enumerate(sets.items(), 1):
        page = DrillSet.objects.create(version=made, order=n, label=name, counts=8)
        for label_, x in at.items():
            dot, _ = Dot.objects.get_or_create(show=show, label=label_)
            Position.objects.create(set=page, dot=dot, x=x, y=10 * STEP)
    return made


@pytest.fixture
def show(band: Band) -> Show:
    show = Show.objects.get(name="Tidewheel")
    first = {"1": {"1-1": 0, "X": 9 * STEP}, "2": {"1-1": 20 * STEP, "X": 30 * STEP}}
    second = {
        "1": {"1-1": 180, "X": 9 * STEP},
        "2": {"1-1": -30 * STEP, "X": -40 * STEP},
        "3": {"1-1": 20 * STEP, "X": 32 * STEP},
    }
    version(show, "first", 1, first)
    version(show, "second", 2, second)
    DotMap.objects.create(
        show=show, spot=band.spots["2-3"], dot=Dot.objects.get(show=show, label="X")
    )
    return show


def test_the_last_two_are_compared_by_set(
    show: Show, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    page = signed_in(cast.staff).get(reverse("versions-compare", args=[show.pk]))
    assert page.context["summary"] == (
        "1 move by more than a quarter step, 1 rounding difference, 1 inserted set, "
        "1 renumbered set"
    )
    lines = {line["label"]: line for line in page.context["sets"]}
    assert lines["1"]["rounded"] == ["1-1"]
    assert lines["2"]["words"] == "inserted"
    assert lines["3"]["words"] == "was set 2"
    assert lines["3"]["moved"] == [("X", "2 steps")]


def test_moves_reach_the_holder_through_the_map(
    show: Show, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    url = reverse("versions-compare", args=[show.pk])
    page = signed_in(cast.staff).get(url, {"by": "person"})
    told = {str(x["of"].holder): x for x in page.context["lines"]}
    assert told["Hal Brook"]["moved"] == [("3", "2 steps")]
    assert told["Ana Núñez"]["rounded"] == ["1"] and not told["Ana Núñez"]["moved"]
    by_dot = signed_in(cast.staff).get(url, {"by": "dot"})
    assert {x["of"].dot for x in by_dot.context["lines"]} == {"1-1", "X"}


def test_chosen_versions_and_nonsense(
    show: Show, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    url = reverse("versions-compare", args=[show.pk])
    first = show.versions.get(label="first")
    page = signed_in(cast.staff).get(url, {"before": first.pk, "after": first.pk})
    assert page.context["summary"] == "no differences"
    assert signed_in(cast.staff).get(url, {"before": "x", "by": "moon"}).status_code == 200
    ShowVersion.objects.filter(label="second").delete()
    assert "nothing to compare" in signed_in(cast.staff).get(url).text
