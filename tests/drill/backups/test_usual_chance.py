"""How likely somebody nobody speaks of is out: the band's record, the plain figure, or by hand."""

from __future__ import annotations

import datetime
from decimal import Decimal

import pytest
import time_machine
from django.urls import reverse

from drill.backups.core.chances import History
from drill.backups.core.usual import LEAST, MOST, PLAIN, usual
from drill.backups.services.plans import plan_of
from drill.backups.services.usual_chance import usual_chance
from drill.travel.services.marching import marching
from tests.answers import text
from tests.drill.backups.season_so_far import SignIn, an_event, say
from tests.drill.travel.travelling import limit, make, publish
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
LATER = datetime.datetime(2099, 10, 1, 12, tzinfo=datetime.UTC)


def test_before_the_first_performance_it_is_the_plain_figure(band: Band) -> None:
    an_event(band, 5, "rehearsal")
    with time_machine.travel(LATER, tick=False):
        assert usual_chance(band.season).value == PLAIN


def test_afterwards_it_is_the_share_that_was_missing(band: Band) -> None:
    """Bo missed one of two games: one of 22 chances of eleven members."""
    say(band, an_event(band, 4, "rehearsal"))
    an_event(band, 5)
    say(band, an_event(band, 12))
    with time_machine.travel(LATER, tick=False):
        found = usual_chance(band.season)
    assert (found.performances, found.occasions, found.missed) == (2, 22, 1)
    assert found.value == pytest.approx(1 / 22)


def test_performances_before_anything_was_noted_are_no_record(band: Band) -> None:
    """A list of the fall's games that comes in in November does not say that nobody was missing."""
    an_event(band, 5)
    with time_machine.travel(LATER, tick=False):
        assert usual_chance(band.season).value == PLAIN
        say(band, an_event(band, 12))
        found = usual_chance(band.season)
    assert (found.performances, found.missed) == (1, 1)


def test_an_event_to_come_is_no_record(band: Band) -> None:
    say(band, an_event(band, 12))
    with time_machine.travel(LATER - datetime.timedelta(30), tick=False):
        assert usual_chance(band.season, band.event.date).value == PLAIN


@pytest.mark.parametrize(("missed", "value"), [(0, LEAST), (10, MOST), (3, 0.3)])
def test_no_record_makes_an_absence_impossible_or_likelier_than_not(
    missed: int, value: float
) -> None:
    assert usual(None, 1, [History(10, missed)]).value == pytest.approx(value)
    assert usual(0.2, 1, [History(10, missed)]).value == 0.2, "a figure by hand goes first"


def test_the_travel_list_and_a_new_plan_count_with_it(band: Band, cast: Cast) -> None:
    publish(band, cast)
    band.season.usual_out = Decimal("0.20")
    band.season.save()
    band.event.refresh_from_db()
    leg = marching(band.event).trip.legs[0]
    assert {m.out for m in leg.marchers} == {0.2}
    assert plan_of(band.event).chance == Decimal("0.2")


def test_the_set_up_shows_it_and_the_season_overrides_it(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    say(band, an_event(band, 12))
    with time_machine.travel(LATER, tick=False):
        page = text(signed_in(cast.staff).get(reverse("set-up")))
        assert "9% of members with nothing reported miss an event" in page
        assert "1 performance so far: 1 of 11 times a member was missing" in page
        band.season.usual_out = Decimal("0.03")
        band.season.save()
        page = text(signed_in(cast.staff).get(reverse("set-up")))
    assert "3% of members" in page and "as the season says" in page


def test_the_director_enters_it_on_the_season(band: Band, cast: Cast, signed_in: SignIn) -> None:
    director, url = signed_in(cast.director), reverse("season")
    form = director.get(url).context["form"]
    data = {n: form[n].value() for n in form.fields if form[n].value() not in (None, False)}
    refused = text(director.post(url, data | {"usual_out": "0.9"}))
    assert "less than or equal to 0.5" in refused
    director.post(url, data | {"usual_out": "0.07"})
    band.season.refresh_from_db()
    assert band.season.usual_out == Decimal("0.07")


def test_the_travel_page_says_where_its_chances_come_from(
    band: Band, cast: Cast, signed_in: SignIn
) -> None:
    publish(band, cast)
    limit(band, 9)
    make(band, cast)
    page = text(signed_in(cast.staff).get(reverse("travel", args=[band.event.pk])))
    assert "5% of members with nothing reported miss an event (no performance" in page
