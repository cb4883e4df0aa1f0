"""Prints and slips tell times by the event's own clock."""

from __future__ import annotations

import datetime
import io
import re

import pytest
import time_machine
from pypdf import PdfReader

from bandops import doctor
from drill.events.models import Event
from drill.lineup.models import Lineup
from drill.publishing.pdf.slips import render_slips
from tests.drill.publishing.revision_prints import pdf, publish, texts
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints"),
]


@pytest.fixture
def away(band: Band, cast: Cast) -> Lineup:
    """Published at 2:18 PM by the Pacific clock of the event."""
    Event.objects.filter(pk=band.event.pk).update(time_zone="America/Los_Angeles")
    band.event.refresh_from_db()
    with time_machine.travel(datetime.datetime(2099, 10, 3, 21, 18, tzinfo=datetime.UTC)):
        return publish(band, cast)


@pytest.mark.parametrize("kind", ["lineup", "assignments"])
def test_the_stamp_says_revision_and_time_by_the_events_clock(away: Lineup, kind: str) -> None:
    for page in texts(pdf(away, kind)):
        assert "Rev 1, Sat, Oct 3, 2099, 2:18 PM PDT" in page
        assert "14:18" not in page


def test_the_front_page_names_the_zone_that_is_not_the_bands(away: Lineup) -> None:
    front = texts(pdf(away))[0]
    assert "call 11:00 AM PDT" in front and "2:00 to 2:20 PM PDT" in front


def test_a_slip_names_the_zone_that_is_not_the_bands(away: Lineup, band: Band) -> None:
    content = render_slips(away, [band.members["Cai Ørnberg"]], "letter")
    slip = re.sub(r"\s+", " ", PdfReader(io.BytesIO(content)).pages[0].extract_text())
    assert "call 11:00 AM PDT" in slip and "Pregame, 2:00 PM PDT" in slip
