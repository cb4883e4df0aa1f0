"""Fundamentals that a band adds: examples, and its own of an earlier season."""

from __future__ import annotations

import datetime

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from drill.fundamentals.core import read
from drill.fundamentals.models import Fundamental
from drill.fundamentals.services.examples import add_offered, examples, offers
from drill.fundamentals.services.fundamentals import built_in, fundamentals_of, save_fundamental
from roster.people.models import Season
from tests.answers import text
from tests.drill.fundamentals.fundamentals_help import HOP, staff
from tests.factories import Band, Cast

__all__ = ["staff"]

pytestmark = pytest.mark.django_db
CORNERS = "four-corners-about"


def test_a_new_band_has_the_basic_ones_and_may_add_examples(staff: Client, band: Band) -> None:
    assert fundamentals_of(band.season) == built_in()
    page = staff.get(reverse("fundamental-examples"))
    said = text(page)
    assert len(page.context["lines"]) == len(examples())
    assert said.count("<svg") >= len(examples()) and "added</span>" not in said
    staff.post(reverse("fundamental-example-add", args=[CORNERS]))
    assert fundamentals_of(band.season) == built_in() | {CORNERS: examples()[CORNERS]}
    said = text(staff.get(reverse("fundamental-examples")))
    assert said.count("added</span>") == 1 and "Undo: remove four corners about" in said
    answer = staff.post(reverse("fundamental-remove", args=[CORNERS]), {"examples": "yes"})
    assert answer["Location"] == reverse("fundamental-examples")
    assert fundamentals_of(band.season) == built_in()


def test_adding_one_is_recorded_and_taken_back(staff: Client, band: Band) -> None:
    staff.post(reverse("fundamental-example-add", args=[CORNERS]))
    entry = AuditEntry.objects.filter(action="add example fundamental").latest("pk")
    staff.post(reverse("take-back"), {"batch": entry.batch})
    assert not Fundamental.objects.exists()


def test_every_example_can_stand_beside_all_the_others(band: Band, cast: Cast) -> None:
    for code in examples():
        add_offered(actor=cast.staff, season=band.season, code=code)
    assert fundamentals_of(band.season) == built_in() | examples()


def test_what_cannot_be_added_says_why(band: Band, cast: Cast) -> None:
    add_offered(actor=cast.staff, season=band.season, code=CORNERS)
    with pytest.raises(Refused, match="already"):
        add_offered(actor=cast.staff, season=band.season, code=CORNERS)
    with pytest.raises(Refused, match="example does not exist"):
        add_offered(actor=cast.staff, season=band.season, code="left-flank")
    save_fundamental(
        actor=cast.staff, season=band.season, definition=HOP | {"also": ["quarter curve left"]}
    )
    with pytest.raises(Refused, match="already means hop"):
        add_offered(actor=cast.staff, season=band.season, code="quarter-curve-left")


def test_an_example_that_the_band_has_under_another_name_says_so(
    staff: Client, band: Band, cast: Cast
) -> None:
    own = {"name": "home plate", "path": [[0, 1], [-1, 1], [-1, 0], [0, 0]], "counts": 4}
    own |= {"measured": "start", "direction": "first", "turn": 180}
    save_fundamental(actor=cast.staff, season=band.season, definition=own)
    said = text(staff.get(reverse("fundamental-examples")))
    assert said.count("You have these steps as home plate.") == 1


def test_the_bands_own_of_an_earlier_season_are_offered(band: Band, cast: Cast) -> None:
    save_fundamental(actor=cast.staff, season=band.season, definition=HOP)
    later = Season.objects.create(
        name="2100",
        band_name=band.season.band_name,
        starts=band.season.ends + datetime.timedelta(days=200),
        ends=band.season.ends + datetime.timedelta(days=300),
        time_zone=band.season.time_zone,
    )
    first, *rest = offers(later)
    assert (first.of.code, first.earlier) == ("hop", band.season.name)
    assert [offer.of.code for offer in rest] == list(examples())
    add_offered(actor=cast.staff, season=later, code="hop")
    assert fundamentals_of(later)["hop"] == read(HOP | {"code": "hop"})
    assert offers(later)[0].added
    assert not any(offer.earlier for offer in offers(band.season)), "what comes later is no past"
