"""Times that a file lacked and nobody has set are called so wherever somebody reads them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops import doctor
from drill.events.models import Segment
from tests.architecture.world import client_of
from tests.drill.calendars.calendar_reading import game
from tests.drill.publishing.revision_prints import pdf, publish, texts
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _proposed(band: Band) -> None:
    Segment.objects.filter(pk=band.pregame.pk).update(times_proposed=True)


def test_the_week_and_the_card_say_which_times_are_not_final(band: Band, cast: Cast) -> None:
    publish(band, cast)
    for role, name in (("staff", "week"), ("member", "card")):
        page = client_of(cast, role).get(reverse(name)).content.decode()
        assert page.count("not final") == 1, name


def test_the_calendar_says_which_times_are_not_final(band: Band, cast: Cast) -> None:
    publish(band, cast)
    lines = str(game(band, cast.member)["DESCRIPTION"]).split("\n")
    assert [line.split()[0] for line in lines if "not final" in line] == ["Pregame"]


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
def test_the_front_page_says_which_times_are_not_final(band: Band, cast: Cast) -> None:
    assert texts(pdf(publish(band, cast)))[0].count("not final") == 1
