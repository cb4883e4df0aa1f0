"""Taps that cannot be done: the page says so, and nobody signs in inside a member's row."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from drill.events.models import Event
from drill.rehearsals.models import Attendance
from tests.drill.rehearsals.rehearsing import clock, make_rehearsal
from tests.e2e.conftest import PHONE, OpenPage, Watched, Week

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "seven quiet cornets at dawn"


@pytest.fixture
def rehearsal(week: Week) -> Iterator[Event]:
    event = make_rehearsal(week.band)
    with clock(19):
        yield event


@pytest.fixture
def phone(open_page: OpenPage, week: Week, rehearsal: Event) -> Watched:
    """A rank leader's phone at the attendance list."""
    opened = open_page(week.cast.leader, PHONE)
    opened.go(reverse("attendance", args=[rehearsal.pk]))
    return opened


def tap(page: Page, name: str = "Dee Quill") -> None:
    page.get_by_role("button", name=f"{name}: late").click()


def test_a_tap_after_signing_out_leads_to_sign_in_and_back(phone: Watched, week: Week) -> None:
    leader, page = week.cast.leader, phone.page
    leader.set_password(PASSWORD)
    leader.save()
    where = page.url
    page.context.clear_cookies(name="sessionid")
    tap(page)
    told = page.get_by_role("alert").filter(has_text="what you sent was not saved")
    expect(told).to_be_visible()
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")
    form = page.locator("form", has=page.locator("input[type=password]"))
    form.get_by_label("Email").fill(leader.email)
    form.locator("input[type=password]").fill(PASSWORD)
    form.get_by_role("button").click()
    expect(page).to_have_url(where)
    expect(told).to_be_visible()
    tap(page)
    expect(page.get_by_role("button", name="Dee Quill: late")).to_have_attribute(
        "aria-pressed", "true"
    )
    assert Attendance.objects.count() == 1
    phone.quiet()


@pytest.mark.parametrize("status", [403, 404, 500])
def test_a_tap_that_fails_is_said_in_the_one_place(phone: Watched, status: int) -> None:
    page, phone.expected_status = phone.page, status
    page.route("**/attendance/note/", lambda route: route.fulfill(status=status, body="<h1>No"))
    for name in ("Dee Quill", "Bo Larkspur"):
        tap(page, name)
        said = f"{name}: late: not saved ({status}). Reload the page."
        expect(page.locator("#messages").get_by_role("alert")).to_have_text(said)
        expect(page.locator("#messages")).to_be_in_viewport()
    expect(page.get_by_role("alert")).to_have_count(1)


def test_a_tap_without_network_waits_beside_it(phone: Watched) -> None:
    page = phone.page
    page.context.set_offline(True)
    tap(page)
    expect(page.get_by_text("Waiting for a network: Dee Quill: Late")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    page.context.set_offline(False)
    tap(page)
    expect(page.get_by_role("button", name="Dee Quill: late")).to_have_attribute(
        "aria-pressed", "true"
    )


def test_other_segments_are_looked_at_before_anything_is_done(
    week: Week, open_page: OpenPage
) -> None:
    """The buttons below are about the segments that were shown, not about those ticked since."""
    watched = open_page(week.cast.director)
    member = week.band.members["Fay Ashgrove"]
    page = watched.go(reverse("desk-out", args=[week.band.event.pk, member.pk]))
    fill = page.get_by_role("button", name="Nobody: leave it open for now")
    expect(fill).to_be_enabled()
    page.get_by_role("checkbox", name="Pregame").uncheck()
    expect(fill).to_be_disabled()
    expect(page.get_by_text("Press “Show who could” to see it for these segments.")).to_be_visible()
