"""Attendance at a rehearsal, tap by tap."""

from __future__ import annotations

import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from drill.events.models import Event
from drill.rehearsals.models import Attendance
from tests.architecture.world import client_of
from tests.drill.rehearsals.rehearsal_pages import (
    assistant_account,
    note,
    rehearsal,
    row_of,
    text,
    url,
)
from tests.drill.rehearsals.rehearsing import moment
from tests.factories import Band, Cast

__all__ = ["rehearsal"]

pytestmark = pytest.mark.django_db


def test_one_tap_without_javascript(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    page = text(client, url("attendance", rehearsal))
    row = row_of(page, band, "Dee Quill")
    fields = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)"', row))
    assert fields.keys() == {"csrfmiddlewaretoken", "member", "key"}
    for _ in range(2):
        response = client.post(url("attendance-note", rehearsal), {**fields, "state": "late"})
        assert response.status_code == 302
        assert response["Location"].startswith(url("attendance", rehearsal))
    assert Attendance.objects.get().state == "late", "the second tap of one form adds nothing"
    row = row_of(text(client, url("attendance", rehearsal)), band, "Dee Quill")
    assert 'aria-pressed="true" class="main">✓ late' in row and "Ana Núñez: late, 7:00 PM" in row


def test_one_tap_with_javascript_brings_the_row(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    data = {"member": band.members["Dee Quill"].pk, "state": "absent", "key": uuid.uuid4()}
    response = client.post(url("attendance-note", rehearsal), data, headers={"HX-Request": "true"})
    page = response.content.decode()
    assert page.startswith(f'<li id="m{band.members["Dee Quill"].pk}"') and "<h1" not in page
    assert "✓ not here" in page and 'hx-swap-oob="true"' in page
    assert "Everybody else is here (5)" in page and "1 of 7 marked" in page


def test_a_refused_tap_with_javascript_brings_the_page_again(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    client = client_of(cast, "leader")
    data = {"member": band.members["Dee Quill"].pk, "state": "ill", "key": uuid.uuid4()}
    response = client.post(url("attendance-note", rehearsal), data, headers={"HX-Request": "true"})
    assert response["HX-Refresh"] == "true" and not Attendance.objects.exists()
    assert "Choose here, late" in text(client, url("attendance", rehearsal))


def test_a_note_that_waited_for_a_signal_keeps_its_time(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    client = client_of(cast, "leader")
    made = moment(17, 2)
    assert note(client, rehearsal, band, "Dee Quill", "late", noted_at=made.isoformat()) == 302
    page = text(client, url("attendance", rehearsal))
    assert "Ana Núñez: late, 5:02 PM" in row_of(page, band, "Dee Quill"), "the rehearsal's clock"
    assert Attendance.objects.get().noted_at == made


def test_other_ranks_are_not_the_leaders(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    assert note(client, rehearsal, band, "Hal Brook", "absent") == 403
    rest = {"rank": band.ranks["2"].pk, "key": uuid.uuid4()}
    assert client.post(url("attendance-rest", rehearsal), rest).status_code == 403
    for name in ("attendance", "practice"):
        asked = f"{url(name, rehearsal)}?rank={band.ranks['2'].pk}"
        assert client.get(asked).status_code == 403
    call = reverse("call-of-rank", args=[rehearsal.pk, band.ranks["2"].pk])
    assert client.get(call).status_code == 403
    assert not Attendance.objects.exists()


def test_the_rank_leader_settles_and_the_assistant_does_not(
    rehearsal: Event, band: Band, cast: Cast
) -> None:
    leader, assistant = client_of(cast, "leader"), Client()
    assistant.force_login(
        assistant_account(band), backend="django.contrib.auth.backends.ModelBackend"
    )
    note(leader, rehearsal, band, "Dee Quill", "present", noted_at=moment(18, 2).isoformat())
    note(assistant, rehearsal, band, "Dee Quill", "absent", noted_at=moment(18, 5).isoformat())
    for client, settles in ((leader, True), (assistant, False)):
        row = row_of(text(client, url("attendance", rehearsal)), band, "Dee Quill")
        assert "marked two ways" in row
        assert "Ana Núñez: here, 6:02 PM · Bo Larkspur: not here, 6:05 PM" in row
        assert ('name="settles"' in row) is settles
    note(assistant, rehearsal, band, "Dee Quill", "absent", settles="1")
    assert not Attendance.objects.filter(settles=True).exists(), "a forged field settles nothing"
    note(leader, rehearsal, band, "Dee Quill", "absent", settles="1")
    row = row_of(text(assistant, url("attendance", rehearsal)), band, "Dee Quill")
    assert "marked two ways" not in row and "✓ not here" in row and "settled" in row


def test_a_note_about_somebody_gone_says_so(rehearsal: Event, band: Band, cast: Cast) -> None:
    client = client_of(cast, "leader")
    data = {"member": 10**7, "state": "late", "key": uuid.uuid4()}
    came = client.post(url("attendance-note", rehearsal), data, follow=True)
    assert "That member is gone: choose again." in came.content.decode()
    came = client.post(
        url("attendance-rest", rehearsal), {"rank": 10**7, "key": uuid.uuid4()}, follow=True
    )
    assert "That rank is gone: choose again." in came.content.decode()
