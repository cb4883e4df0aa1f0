"""Times of an event elsewhere name their zone wherever they are written."""

from __future__ import annotations

import datetime
import io
import re
import uuid

import pytest
import time_machine
from django.urls import reverse
from django.utils import timezone
from pypdf import PdfReader

from bandops import doctor
from bandops.lib.audit.recording import recorded
from bandops.lib.imports.models import ImportBatch
from drill.absences.models import Absence
from drill.events.models import Event
from drill.gameday.wording import absence_words
from drill.publishing.pdf.slips import render_slip_sheets
from drill.publishing.services.slips import slips_told
from drill.rehearsals.services.attendance_notes import note_attendance
from tests.answers import text
from tests.architecture.world import client_of
from tests.drill.events.test_import_events import HOME, event_row, segment
from tests.drill.events.test_import_events import events as events
from tests.drill.gameday.gameday_desk import ask, out, wish
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes

__all__ = ["events", "out"]

pytestmark = pytest.mark.django_db
CAI = "Cai Ørnberg"


@pytest.fixture
def away(band: Band) -> Event:
    """A game in the Pacific zone of a Central band."""
    Event.objects.filter(pk=band.event.pk).update(time_zone="America/Los_Angeles")
    band.event.refresh_from_db()
    return band.event


def test_an_absence_that_ends_at_a_time(away: Event, band: Band, cast: Cast) -> None:
    entry = Absence.objects.create(
        member=band.members[CAI], event=away, kind="late", late_until=datetime.time(13, 30),
        state="confirmed", reported_by=cast.member, noted_at=timezone.now(),
    )  # fmt: skip
    for role, name in (("staff", "absences"), ("member", "my-absences")):
        assert "1:30 PM PDT" in text(client_of(cast, role).get(reverse(name))), name
    assert absence_words(entry) == "late until 1:30 PM PDT"
    home = Absence(member=entry.member, kind="late", late_until=datetime.time(13, 30))
    assert absence_words(home) == "late until 1:30 PM"


def test_an_entry_that_waited_on_a_phone(away: Event, band: Band, cast: Cast) -> None:
    made = timezone.now() - datetime.timedelta(hours=3)
    Absence.objects.create(
        member=band.members[CAI], event=away, kind="out", reported_by=cast.member, noted_at=made
    )
    page = text(client_of(cast, "member").get(reverse("my-absences")))
    assert re.search(r"written [^.]* (PDT|PST) with no network, received [^.]* (PDT|PST)", page)


def test_a_note_of_attendance(away: Event, band: Band, cast: Cast) -> None:
    with time_machine.travel(away.local(datetime.time(12)), tick=False):
        note_attendance(
            actor=cast.staff, event=away, member=band.members[CAI], state="late",
            key=uuid.uuid4(), noted_at=timezone.now(),
        )  # fmt: skip
        page = client_of(cast, "staff").get(
            reverse("attendance", args=[away.pk]), {"rank": band.ranks["1"].pk}
        )
    html = page.content.decode()
    assert 'data-zone="PDT">12:00 PM PDT</time>' in html


def test_what_an_import_changes(away: Event, events: Desk) -> None:
    given = HOME | {"time_zone": "America/Los_Angeles", "cut_off": "2099-10-16 18:00"}
    row = event_row(**given, **segment("Halftime", "halftime", "16:00", "16:25", "tidewheel"))
    found = {name: (old, new) for name, old, new in changes(events.plan(row))}
    assert found["ends"] == ("4:20 PM PDT", "4:25 PM PDT")
    assert found["cut off"][1] == "Oct 16, 2099, 6:00 PM PDT"


def test_an_import_that_moves_the_clock(band: Band, events: Desk) -> None:
    given = HOME | {"time_zone": "America/Los_Angeles", "call_time": "9:00"}
    row = event_row(**given, **segment("Halftime", "halftime", "16:00", "16:20", "tidewheel"))
    found = {name: (old, new) for name, old, new in changes(events.plan(row))}
    assert found["call time"] == ("11:00 AM", "9:00 AM PDT")


def test_the_list_of_imports(band: Band, cast: Cast) -> None:
    ImportBatch.objects.create(kind="events", filename="games.csv", by=cast.staff)
    html = client_of(cast, "staff").get(reverse("imports")).content.decode()
    assert re.search(r'<time datetime="[^"]+" data-zone="C[DS]T">[A-Z]', html)


def test_the_audit(away: Event, cast: Cast) -> None:
    with recorded(cast.staff, "change event"):
        away.call_time = datetime.time(10)
        away.save()
    html = client_of(cast, "director").get(reverse("audit")).content.decode()
    assert "11:00 AM PDT" in html and "10:00 AM PDT" in html
    assert re.search(r'data-zone="C[DS]T">[A-Z][a-z]+ \d+, \d+, \d+:\d\d:\d\d [AP]M C[DS]T<', html)


@pytest.mark.skipif(doctor.PDF in doctor.lacks(), reason="no Pango for the prints")
def test_the_slips_of_a_sheet(out: Band, cast: Cast) -> None:
    Event.objects.filter(pk=out.event.pk).update(time_zone="America/Los_Angeles")
    out.event.refresh_from_db()
    change = ask(out, cast, wish(out, CAI, "Jon Pell")).change
    assert change is not None
    content = render_slip_sheets(change.after, slips_told(out.event, again=False), "letter")
    page = re.sub(r"\s+", " ", PdfReader(io.BytesIO(content)).pages[0].extract_text())
    assert "call 11:00 AM PDT" in page and "Pregame, 2:00 PM PDT" in page
