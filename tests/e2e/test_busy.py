"""What takes longer than a moment says that it works, and a second press sends nothing more."""

from __future__ import annotations

import time

import pytest
from django.urls import reverse
from playwright.sync_api import Page, Route, expect

from drill.lineup.core.problem import Level
from drill.lineup.models import Backup
from drill.lineup.services.proving import proving, teller
from drill.lineup.wording import PROVING
from tests.e2e.conftest import OpenPage, Watched, Week


@pytest.fixture
def staff(week: Week, open_page: OpenPage) -> Watched:
    watched = open_page(week.cast.staff, reduced_motion="no-preference")
    watched.go(reverse("events"))
    return watched


NOTES = """new MutationObserver(() => sessionStorage.setItem("seen", [
  document.getElementById("busy").textContent,
  ...[...document.querySelectorAll("[aria-busy=true]")].map((one) => one.textContent),
  sessionStorage.getItem("seen") || "",
].join(" "))).observe(document, { subtree: true, childList: true, attributeFilter: [
  "aria-busy"] })"""


def slow(page: Page, pattern: str, seconds: float = 0.5) -> list[str]:
    """Answers that take half a second; what the page says meanwhile is kept. The requests."""
    asked: list[str] = []

    def wait(route: Route) -> None:
        asked.append(route.request.method)
        time.sleep(seconds)
        route.continue_()

    page.route(pattern, wait)
    page.evaluate(NOTES)
    return asked


def seen(page: Page) -> str:
    return str(page.evaluate("sessionStorage.getItem('seen')"))


def test_a_slow_page_says_so_and_is_quiet_when_one_comes_back(staff: Watched) -> None:
    page, busy = staff.page, staff.page.locator("#busy")
    expect(busy).to_be_empty()
    expect(busy).to_have_role("status")
    slow(page, "**/people/")
    page.locator('nav a[href="/people/"]').first.click()
    page.wait_for_url("**/people/")
    assert "Working…" in seen(page)
    expect(busy).to_be_empty()
    page.go_back()
    expect(page).to_have_url(staff.base + reverse("events"))
    expect(busy).to_be_empty()
    staff.quiet()


def test_a_solver_that_takes_long_says_what_it_proves(staff: Watched, week: Week) -> None:
    page, event = staff.page, week.band.event
    staff.go(reverse("lineup", args=[event.pk]))
    teller(event.pk)(Level.MOVED)
    slow(page, "**/proposal/", seconds=2.6)
    page.get_by_role("link", name="See the proposal").click()
    page.wait_for_url("**/proposal/")
    assert PROVING[Level.MOVED] in seen(page)
    expect(page.locator("#busy")).to_be_empty()
    assert proving(event.pk) is None
    staff.quiet()


def test_a_quick_answer_says_nothing(staff: Watched) -> None:
    page = staff.page
    page.evaluate(NOTES)
    page.evaluate("Busy.begin('x'); setTimeout(() => Busy.end('x'), 50)")
    page.wait_for_timeout(300)
    assert seen(page) == "None"


def test_the_bar_stands_still_where_motion_is_unwanted(staff: Watched) -> None:
    page, name = staff.page, "getComputedStyle(busy, '::before').animationName"
    page.evaluate("Busy.begin('x')")
    expect(page.locator("#busy")).to_have_text("Working…")
    assert page.evaluate(name) == "along"
    page.emulate_media(reduced_motion="reduce")
    assert page.evaluate(name) == "none"
    page.keyboard.press("Escape")
    expect(page.locator("#busy")).to_be_empty()


def test_a_download_ends_it(staff: Watched) -> None:
    page = staff.page
    staff.go(reverse("imports"))
    slow(page, "**/exports/members.csv")
    with page.expect_download():
        page.locator('a[href$="/exports/members.csv"]').click(no_wait_after=True)
    assert "Working…" in seen(page)
    expect(page.locator("#busy")).to_be_empty()
    assert not [c for c in page.context.cookies() if c["name"] == "arrived"]


def test_pressed_twice_is_done_once(staff: Watched, week: Week) -> None:
    page, spot = staff.page, week.band.spots["1-3"]
    staff.go(reverse("spot", args=[spot.pk]))
    before = Backup.objects.filter(spot=spot).count()
    button = page.locator('form[action$="/backups/"] button')
    page.locator('form[action$="/backups/"] select').select_option(index=1)
    word = button.inner_text()
    asked = slow(page, "**/spots/*/backups/")
    button.evaluate("(one) => { one.click(); one.click(); }")
    said = page.locator("#messages > .note")
    expect(said).to_contain_text("is a backup for")
    assert asked.count("POST") == 1 and f"Working… {word}" in seen(page)
    assert Backup.objects.filter(spot=spot).count() == before + 1
    page.unroute_all()
    said.get_by_role("button", name="Undo").click()
    expect(said).to_contain_text("Taken back")
    assert Backup.objects.filter(spot=spot).count() == before
    staff.quiet()
