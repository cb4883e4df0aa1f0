"""What waits on a phone for the network: whose it is, that it comes through, and what it shows."""

from __future__ import annotations

from collections.abc import Iterator
from random import Random
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from django.core.signals import request_started
from django.urls import reverse
from playwright.sync_api import Error, Locator, Page, expect

from drill.absences.models import Absence
from drill.absences.queries import WHEN_MADE
from drill.events.models import Event
from drill.publishing.models import Notice
from drill.rehearsals.models import Attendance
from tests.drill.rehearsals.rehearsing import clock, make_rehearsal
from tests.e2e.conftest import PHONE, OpenPage, Week, session_cookie
from tests.e2e.test_no_network import (
    back,
    cut,
    fill_without_network,
    report_offline,
    wait_until_kept,
)

pytestmark = pytest.mark.django_db(transaction=True)
STORED = "Object.entries(localStorage).flat().join(' ')"


@pytest.fixture
def rehearsal(week: Week) -> Iterator[Event]:
    event = make_rehearsal(week.band)
    with clock(19):
        yield event


def sign_in(page: Page, base: str, user: Any) -> None:
    """Another session on the same phone."""
    page.context.clear_cookies()
    page.context.add_cookies([session_cookie(user, base)])


def eno(week: Week) -> Any:
    return Absence.objects.filter(member=week.band.members["Eno Farrow"])


def test_what_waits_comes_through_after_signing_in_again(open_page: OpenPage, week: Week) -> None:
    phone = report_offline(open_page, week)
    Session.objects.all().delete()
    phone.page.context.clear_cookies()
    back(phone.page)
    expect(phone.page.get_by_text("Sign in again to send what waits.")).to_be_visible()
    assert not eno(week).exists()
    sign_in(phone.page, phone.base, week.cast.leader)
    phone.page.goto(phone.base + "/my-rank/")
    expect(phone.page.get_by_text("Eno Farrow is reported")).to_be_visible()
    assert eno(week).count() == 1


def test_each_account_has_its_own_queue_and_reads_no_other(open_page: OpenPage, week: Week) -> None:
    phone = report_offline(open_page, week)
    page = phone.page
    assert "Eno" not in page.evaluate(STORED), "what waits is locked"
    sign_in(page, phone.base, week.cast.other)
    page.context.set_offline(False)
    page.goto(phone.base + "/my-absences/")
    wait_until_kept(page, "/my-absences/")
    expect(page.locator("#queue")).to_be_hidden()
    cut(phone)
    page.get_by_role("button", name="Report it").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    sign_in(page, phone.base, week.cast.leader)
    page.context.set_offline(False)
    page.goto(phone.base + "/my-rank/")
    expect(page.get_by_text("Eno Farrow is reported")).to_be_visible()
    mine = Absence.objects.filter(
        reported_by=week.cast.other, member=week.band.members["Hal Brook"]
    )
    before = mine.count()
    sign_in(page, phone.base, week.cast.other)
    page.goto(phone.base + "/card/")
    expect(page.get_by_text("Sent: Reported.")).to_be_visible()
    assert mine.count() == before + 1


def test_an_open_page_of_one_account_sends_nothing_as_another(
    open_page: OpenPage, week: Week
) -> None:
    phone = report_offline(open_page, week)
    sign_in(phone.page, phone.base, week.cast.staff)
    back(phone.page)
    expect(phone.page.get_by_text("Sign in again to send what waits.")).to_be_visible()
    assert not eno(week).exists()


def test_a_page_closed_while_it_sends_loses_nothing(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.leader, PHONE)
    page = phone.go("/my-rank/report/")
    page.get_by_label("Member").select_option(value=str(week.band.members["Eno Farrow"].pk))
    page.route("**/my-rank/report/", lambda route: None)
    with page.expect_request(lambda request: request.method == "POST"):
        page.get_by_role("button", name="Report").click()
    other = page.context.new_page()
    page.close()
    other.goto(phone.base + "/my-rank/")
    expect(other.get_by_text("Sent: ")).to_be_visible()
    assert eno(week).count() == 1


def test_a_page_of_the_network_itself_is_no_answer(open_page: OpenPage, week: Week) -> None:
    """A stadium's network answers everything with a page of its own until one agrees to it."""
    phone = open_page(week.cast.leader, PHONE)
    page = phone.go("/my-rank/report/")
    page.get_by_label("Member").select_option(value=str(week.band.members["Eno Farrow"].pk))
    portal = {"status": 200, "content_type": "text/html", "body": "<h1>Welcome</h1>"}
    page.route("**/my-rank/report/", lambda route: route.fulfill(**portal))
    page.get_by_role("button", name="Report").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    page.unroute("**/my-rank/report/")
    back(page)
    expect(page.get_by_text("Eno Farrow is reported")).to_be_visible()


def test_what_was_sent_is_on_the_page_at_once(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    fill_without_network(phone, "Gus Tamm", "Kit Moss")
    expect(phone.page.get_by_text("Chains need a network")).to_be_visible()
    back(phone.page)
    expect(phone.page.get_by_text("Sent: Gus Tamm is out: Kit Moss steps in.")).to_be_visible()
    expect(phone.page.locator(".lead")).to_contain_text("revision 3")


def test_a_page_is_fetched_once(open_page: OpenPage, week: Week) -> None:
    asked: list[str] = []

    def note(environ: dict[str, Any], **more: Any) -> None:
        asked.append(environ["PATH_INFO"])

    request_started.connect(note)
    try:
        phone = open_page(week.cast.leader, PHONE, service_workers="allow")
        page = phone.go("/my-rank/")
        for kept in ("/my-rank/", "/my-rank/report/", "/card/"):
            wait_until_kept(page, kept)
        assert [asked.count(p) for p in ("/my-rank/", "/my-rank/report/", "/card/")] == [1, 1, 1]
        phone.go("/my-rank/")
        page.wait_for_timeout(1000)
        assert [asked.count(p) for p in ("/my-rank/", "/my-rank/report/", "/card/")] == [2, 1, 1]
    finally:
        request_started.disconnect(note)


def test_a_member_says_so_and_confirms_without_network(open_page: OpenPage, week: Week) -> None:
    member = week.band.members["Hal Brook"]
    Notice.objects.filter(member=member).update(state="sent")
    told, _ = Notice.objects.get_or_create(
        lineup=week.second,
        member=member,
        defaults={"content": {"stand_by": [["1", "1", None]]}, "state": "sent"},
    )
    phone = open_page(week.cast.other, PHONE, service_workers="allow")
    page = phone.go("/card/")
    for path in ("/card/", "/my-absences/"):
        wait_until_kept(page, path)
    cut(phone)
    page.get_by_role("button", name="I have read it").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    page.goto(phone.base + "/my-absences/")
    before = member.absences.count()
    page.get_by_role("button", name="Report it").click()
    expect(page.get_by_text("2 changes wait on this phone")).to_be_visible()
    back(page)
    expect(page.get_by_text("Sent: Reported.")).to_be_visible()
    told.refresh_from_db()
    assert told.state == "confirmed" and member.absences.count() == before + 1


def test_attendance_is_taken_without_network(
    open_page: OpenPage, week: Week, rehearsal: Event
) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    path = reverse("attendance", args=[rehearsal.pk])
    page = phone.go(path)
    wait_until_kept(page, path)
    cut(phone)
    page.get_by_role("button", name="Dee Quill: late").click()
    expect(page.get_by_text("Waiting for a network: Dee Quill: Late")).to_be_visible()
    page.goto(phone.base + path)
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    tapped = page.get_by_role("button", name="Dee Quill: late")
    expect(tapped).to_have_attribute("aria-pressed", "true")
    expect(tapped).to_have_text("✓ late (waiting)")
    assert not Attendance.objects.exists()
    back(page)
    expect(page.locator("#queue")).to_contain_text("Sent: ")
    expect(tapped).to_have_attribute("aria-pressed", "true")
    expect(tapped).to_have_text("✓ late")
    assert Attendance.objects.count() == 1


def test_a_list_opened_again_without_network_shows_what_waits(
    open_page: OpenPage, week: Week, rehearsal: Event
) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    path = reverse("attendance", args=[rehearsal.pk])
    page = phone.go(path)
    wait_until_kept(page, path)
    cut(phone)
    page.get_by_role("button", name="Dee Quill: late").click()
    page.get_by_role("button", name="Everybody is here").click()
    page.goto(phone.base + path)
    rows = page.locator("form.marks").count()
    noted = page.locator("[data-noted]")
    expect(noted).to_have_text(f"0 of {rows} marked, {rows} waiting on this phone")
    late = page.get_by_role("button", name="Dee Quill: late")
    expect(late).to_have_attribute("aria-pressed", "true")
    here = page.get_by_role("button", name="Bo Larkspur: here (waiting)")
    expect(here).to_have_attribute("aria-pressed", "true")
    for _ in range(2):
        page.get_by_role("button", name="Take back").first.click()
    expect(noted).to_have_text(f"0 of {rows} marked")
    for button in (late, page.get_by_role("button", name="Bo Larkspur: here")):
        expect(button).to_have_attribute("aria-pressed", "false")
    assert "waiting" not in page.locator("form.marks").first.inner_text()


@pytest.mark.parametrize("seed", [1, 2])
def test_a_network_that_comes_and_goes_loses_no_report(
    open_page: OpenPage, week: Week, seed: int
) -> None:
    """Cut and back at any moment, also while it sends; the one made last counts."""
    random = Random(seed)
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/report/")
    wait_until_kept(page, "/my-rank/report/")
    member = str(week.band.members["Eno Farrow"].pk)
    kinds = ["out", "limited", "in", "out", "in", "limited"]
    for kind in kinds:
        page.context.set_offline(random.random() < 0.6)
        open_again(page, phone.base + "/my-rank/report/", page.get_by_label("Member"))
        page.get_by_label("Member").select_option(value=member)
        page.get_by_label("Kind").select_option(value=kind)
        page.get_by_role("button", name="Report").click()
        page.wait_for_timeout(random.choice((0, 50, 400)))
    page.wait_for_timeout(500)
    page.context.set_offline(False)
    open_again(page, phone.base + "/my-rank/", page.locator("main h1"))
    expect(page.locator("#queue").get_by_text("on this phone")).to_have_count(0, timeout=30_000)
    made = eno(week).order_by(WHEN_MADE, "pk").values_list("kind", flat=True)
    assert list(made) == kinds


def open_again(page: Page, address: str, awaited: Locator) -> None:
    """As a person does who taps again: what was sent may bring another page meanwhile, even a
    moment after this one came."""
    for _ in range(5):
        try:
            page.goto(address)
            page.wait_for_timeout(300)
            awaited.wait_for(timeout=3000)
            return
        except Error:
            page.wait_for_timeout(300)


def test_what_staff_need_is_kept(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.staff, PHONE, service_workers="allow")
    page = phone.go("/week/")
    event = week.band.event.pk
    prints = page.locator("a[href*='/files/']")
    kept = ["/week/", reverse("lineup", args=[event]), "/backups/", "/desk/"]
    for path in [*kept, str(prints.first.get_attribute("href"))]:
        wait_until_kept(page, path)
    cut(phone)
    for path in ("/lineup/", "/backups/", "/desk/", "/week/"):
        page.goto(phone.base + path)
        expect(page.get_by_text("No network. This copy is from")).to_be_visible()
