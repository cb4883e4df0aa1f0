"""A phone on a network that hardly carries anything: what is tapped counts once, whatever the
thumb does meanwhile."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Page, expect

from drill.absences.models import Absence
from drill.events.models import Event
from drill.rehearsals.models import Attendance
from tests.drill.rehearsals.rehearsing import clock, make_rehearsal
from tests.e2e.conftest import PHONE, OpenPage, Week

pytestmark = pytest.mark.django_db(transaction=True)
SLOW = {
    "offline": False,
    "latency": 700,
    "downloadThroughput": 25_000,
    "uploadThroughput": 10_000,
}
"""milliseconds there and back, bytes a second: the last bar of a full stadium"""


@pytest.fixture
def rehearsal(week: Week) -> Iterator[Event]:
    event = make_rehearsal(week.band)
    with clock(19):
        yield event


def slow_down(page: Page) -> None:
    """The network of this page from now on."""
    line = page.context.new_cdp_session(page)
    line.send("Network.enable")
    line.send("Network.emulateNetworkConditions", SLOW)


def test_taps_on_a_slow_network_count_once(
    open_page: OpenPage, week: Week, rehearsal: Event
) -> None:
    phone = open_page(week.cast.leader, PHONE)
    page = phone.go(f"/rehearsals/{rehearsal.pk}/attendance/")
    slow_down(page)
    names = ("Ana Núñez", "Bo Larkspur", "Dee Quill")
    for name in names:
        tap = page.get_by_role("button", name=f"{name}: late")
        tap.dblclick(no_wait_after=True)
    for name in names:
        tap = page.get_by_role("button", name=f"{name}: late")
        expect(tap).to_have_attribute("aria-pressed", "true", timeout=60_000)
    expect(page.locator("#queue")).to_be_hidden(timeout=60_000)
    expect(page.locator(".htmx-request")).to_have_count(0, timeout=60_000)
    page.wait_for_timeout(3_000)  # whatever still comes has come
    found = Attendance.objects.filter(event=rehearsal, noted_by=week.cast.leader)
    counted = sorted(str(note.member) for note in found.select_related("member__person"))
    assert counted == sorted(names)


def test_a_form_sent_twice_by_an_impatient_thumb_counts_once(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.member, PHONE)
    page = phone.go("/my-absences/")
    before = Absence.objects.count()
    slow_down(page)
    page.get_by_role("button", name="Report it").dblclick(no_wait_after=True)
    expect(page.get_by_text("Reported.").first).to_be_visible(timeout=60_000)
    assert Absence.objects.count() == before + 1
