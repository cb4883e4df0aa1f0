"""On the field without network: pages kept on the phone, forms that wait, nothing overwritten."""

from __future__ import annotations

from contextlib import suppress
from typing import Any

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Error, Page, expect

from drill.absences.models import Absence
from drill.gameday.models import Clash, DayChange
from drill.gameday.services.desk import Wish
from drill.gameday.services.fills import fill
from drill.lineup import queries as lineup_queries
from tests.e2e.conftest import PHONE, OpenPage, Watched, Week, session_cookie

pytestmark = pytest.mark.django_db(transaction=True)
SCRIPTED = """async () => {
  const store = await caches.open("assets");
  return (await store.keys()).some((r) => r.url.includes("offline"));
}"""
KEPT = """async (path) => {
  const store = await caches.open("private");
  return (await store.keys()).map((r) => new URL(r.url).pathname).includes(path);
}"""


def until(page: Page, question: str) -> None:
    """Wait until the browser answers yes (the answers are promises)."""
    for _ in range(100):
        if page.evaluate(question):
            return
        page.wait_for_timeout(100)
    raise AssertionError(f"never true: {question}")


def wait_until_kept(page: Page, path: str) -> None:
    until(page, f"({KEPT})('{path}')")
    until(page, f"({SCRIPTED})()")


def cut(watched: Watched) -> None:
    watched.page.context.set_offline(True)


def at(week: Week, spot: str) -> str:
    lineup = lineup_queries.published(week.band.event)
    assert lineup is not None
    row = lineup.rows.get(segment=week.band.halftime, spot=week.band.spots[spot])
    return row.member.name if row.member else "nobody"


def test_a_member_reads_the_card_without_network(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.other, PHONE, service_workers="allow")
    page = phone.go("/my-absences/")
    wait_until_kept(page, "/card/")
    cut(phone)
    page.goto(phone.base + "/card/")
    expect(page.locator(".spot").first).to_have_text("2-3")
    expect(page.get_by_text("No network. This copy is from")).to_be_visible()
    page.goto(phone.base + "/me/")
    expect(page.get_by_role("heading", name="No network")).to_be_visible()
    page.get_by_role("link", name="My spot").first.click()
    expect(page.locator(".spot").first).to_have_text("2-3")


def test_a_page_kept_unread_is_not_seen(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.other, PHONE, service_workers="allow")
    page = phone.go("/my-absences/")
    wait_until_kept(page, "/card/")
    notice = week.first.notices.get(member=week.band.members["Hal Brook"])
    assert notice.seen_at is None


def test_signing_out_removes_what_was_kept(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/")
    wait_until_kept(page, "/my-rank/")
    page.locator(".person summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page).to_have_url(phone.base + "/sign-in/")
    page.wait_for_timeout(2000)  # what was on its way when they left
    until(page, "caches.has('private').then((has) => !has)")
    cut(phone)
    try:
        page.goto(phone.base + "/my-rank/")
    except Exception:
        return  # the worker is gone too: the browser's own error page
    assert "Ana" not in page.content()


def test_an_expired_sign_in_removes_what_was_kept(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/")
    wait_until_kept(page, "/my-rank/")
    phone.page.context.clear_cookies()
    page.goto(phone.base + "/my-rank/")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    until(page, "caches.has('private').then((has) => !has)")
    cut(phone)
    page.goto(phone.base + "/my-rank/")
    expect(page.get_by_role("heading", name="No network")).to_be_visible()


def test_another_account_never_sees_the_copies_of_the_first(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/")
    wait_until_kept(page, "/my-rank/")
    page.context.clear_cookies()
    page.context.add_cookies([session_cookie(week.cast.other, phone.base)])
    page.goto(phone.base + "/card/")
    expect(page.locator(".spot").first).to_have_text("2-3")
    until(page, f"({KEPT})('/my-rank/').then((has) => !has)")


def fill_without_network(phone: Watched, out: str, into: str) -> None:
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.goto(phone.base + "/desk/")
    page.get_by_role("searchbox", name="Name or spot").fill(out)
    page.locator(".taps").get_by_role("link", name=out).click()
    page.get_by_role("button", name=f"{into} steps in").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    expect(page.get_by_text(f"{out} out, {into} steps in")).to_be_visible()


def test_a_fill_made_without_network_is_sent_once_when_it_is_back(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    fill_without_network(phone, "Gus Tamm", "Kit Moss")
    assert at(week, "2-2") == "Gus Tamm"
    phone.page.reload()
    expect(phone.page.get_by_text("1 change waits on this phone")).to_be_visible()
    phone.page.context.set_offline(False)
    phone.page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(phone.page.get_by_text("Sent: Gus Tamm is out: Kit Moss steps in.")).to_be_visible()
    phone.page.reload()
    assert at(week, "2-2") == "Kit Moss"
    assert DayChange.objects.count() == 1


def test_one_segment_is_filled_without_network(open_page: OpenPage, week: Week) -> None:
    """Gus is out for pregame alone; then 2-2, open there, is filled, without network too."""
    band = week.band
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.goto(phone.base + "/desk/")
    page.get_by_role("searchbox", name="Name or spot").fill("Gus Tamm")
    page.locator(".taps").get_by_role("link", name="Gus Tamm").click()
    for name in ("Halftime", "Stands"):
        page.locator("#offline-fill").get_by_label(name).uncheck()
    page.get_by_role("button", name="Nobody: leave it open for now").click()
    expect(page.get_by_text("Gus Tamm out (Pregame), nobody steps in")).to_be_visible()
    back(page)
    sent = page.get_by_text("Sent: Gus Tamm is out of Pregame: nobody steps in.")
    expect(sent).to_be_visible(timeout=20_000)
    assert at(week, "2-2") == "Gus Tamm"

    page = phone.go("/desk/")
    until(page, f"({KEPT})('/desk/')")
    page.wait_for_timeout(500)
    cut(phone)
    page.goto(phone.base + "/desk/")
    page.get_by_role("link", name="Fill 2-2").click()
    page.get_by_role("button", name="Kit Moss steps in").click()
    expect(page.get_by_text("2-2 open (Pregame), Kit Moss steps in")).to_be_visible()
    back(page)
    sent = page.get_by_text("Sent: 2-2 in Pregame: Kit Moss steps in.")
    expect(sent).to_be_visible(timeout=20_000)
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    row = lineup.rows.get(segment=band.pregame, spot=band.spots["2-2"])
    assert row.member == band.members["Kit Moss"]
    assert at(week, "2-2") == "Gus Tamm"


def test_two_fills_of_one_spot_become_one_card_to_decide(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    fill_without_network(phone, "Gus Tamm", "Kit Moss")
    meanwhile(week, "Gus Tamm", "Jon Pell")
    phone.page.context.set_offline(False)
    phone.page.evaluate("window.dispatchEvent(new Event('online'))")
    expect(phone.page.get_by_text("somebody else just filled it").first).to_be_visible()
    assert at(week, "2-2") == "Jon Pell"
    clash = Clash.objects.get()
    assert (clash.wanted, clash.state) == (week.band.members["Kit Moss"], "open")
    page = phone.go("/desk/")
    expect(page.get_by_role("heading", name="Two people for 2-2")).to_be_visible()
    page.get_by_role("button", name="Take Kit Moss").click()
    expect(page.get_by_text("2-2: Kit Moss marches.")).to_be_visible()
    assert at(week, "2-2") == "Kit Moss"


def meanwhile(week: Week, out: str, into: str) -> None:
    """Somebody with network is faster."""
    import uuid

    from django.utils import timezone

    members = week.band.members
    seen = lineup_queries.published(week.band.event)
    assert seen is not None and seen.number is not None
    wish = Wish(members[out], members[into], None, seen.number, uuid.uuid4(), timezone.now())
    assert fill(actor=week.cast.staff, event=week.band.event, wish=wish).change is not None


def test_a_report_made_without_network_reaches_staff(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/report/")
    wait_until_kept(page, "/my-rank/report/")
    eno = str(week.band.members["Eno Farrow"].pk)
    page.get_by_label("Member").select_option(value=eno)
    cut(phone)
    page.get_by_role("button", name="Report").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    back(page)
    expect(page.get_by_text("Eno Farrow is reported")).to_be_visible()
    assert Absence.objects.get(member=week.band.members["Eno Farrow"]).state == "reported"


def test_ten_oclock_takes_five_taps_or_fewer(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.staff, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    taps: list[Any] = []

    def tap(what: Any) -> None:
        taps.append(what)
        what.click()

    tap(page.locator("summary", has_text="Rank 2"))
    tap(page.locator(".taps").get_by_role("link", name="Gus Tamm"))
    tap(page.get_by_role("button", name="Kit Moss steps in"))
    slip = page.get_by_role("link", name="Slip for Kit Moss")
    expect(slip).to_be_visible()
    answer = page.request.get(phone.base + str(slip.get_attribute("href")))
    taps.append(slip)
    assert answer.ok and answer.body().startswith(b"%PDF")
    assert len(taps) <= 5
    assert at(week, "2-2") == "Kit Moss"
    phone.quiet()


def back(page: Page) -> None:
    """With network again; the browser may have told the page so already, which then loads anew."""
    page.context.set_offline(False)
    with suppress(Error):
        page.evaluate("window.dispatchEvent(new Event('online'))")


def report_offline(open_page: OpenPage, week: Week) -> Watched:
    """A leader's report of Eno that waits on the phone."""
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/report/")
    wait_until_kept(page, "/my-rank/report/")
    page.get_by_label("Member").select_option(value=str(week.band.members["Eno Farrow"].pk))
    cut(phone)
    page.get_by_role("button", name="Report").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    return phone


def test_what_a_server_in_trouble_did_not_take_waits_on(open_page: OpenPage, week: Week) -> None:
    phone = report_offline(open_page, week)
    page, asked = phone.page, []

    def trouble(route: Any) -> None:
        if route.request.method != "POST":
            route.fallback()
            return
        asked.append(route)
        route.fulfill(status=502, content_type="text/html", body="<h1>Bad gateway</h1>")

    page.route("**/my-rank/report/", trouble)
    back(page)
    while not asked:
        page.wait_for_timeout(100)
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    page.unroute("**/my-rank/report/")
    back(page)
    expect(page.get_by_text("Eno Farrow is reported")).to_be_visible()
    assert Absence.objects.filter(member=week.band.members["Eno Farrow"]).count() == 1


def test_two_reports_that_differ_in_their_days_are_two(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/report/")
    wait_until_kept(page, "/my-rank/report/")
    cut(phone)
    eno = week.band.members["Eno Farrow"]
    days = ("2099-10-01", "2099-11-05")
    for waiting, day in enumerate(days, 1):
        page.get_by_label("Member").select_option(value=str(eno.pk))
        page.get_by_label("Event").select_option(value="")
        for label in ("From", "Through"):
            page.get_by_label(label).fill(day)
        page.get_by_role("button", name="Report").click()
        words = "1 change waits" if waiting == 1 else "2 changes wait"
        expect(page.get_by_text(words)).to_be_visible()
    back(page)
    expect(page.get_by_text("Eno Farrow is reported").nth(1)).to_be_visible()
    found = Absence.objects.filter(member=eno).values_list("from_date", flat=True)
    assert {str(day) for day in found} == set(days)


def test_bars_without_a_line_behind_them_are_no_network(open_page: OpenPage, week: Week) -> None:
    """The phone says it is connected, but nothing answers."""
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    always = "Object.defineProperty(Navigator.prototype, 'onLine', { get: () => true })"
    phone.page.context.add_init_script(always)
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.goto(phone.base + "/desk/")
    expect(page.get_by_text("Weak network.")).to_be_visible()
    page.get_by_role("searchbox", name="Name or spot").fill("Gus Tamm")
    page.locator(".taps").get_by_role("link", name="Gus Tamm").click()
    page.get_by_role("button", name="Kit Moss steps in").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()


def test_a_queue_that_meets_an_expired_sign_in_removes_what_was_kept(
    open_page: OpenPage, week: Week
) -> None:
    phone = report_offline(open_page, week)
    Session.objects.all().delete()
    back(phone.page)
    expect(phone.page.get_by_text("Sign in again to send what waits.")).to_be_visible()
    until(phone.page, "caches.has('private').then((has) => !has)")


def test_the_page_without_network_names_nobody(open_page: OpenPage, week: Week) -> None:
    """A phone in other hands: what the first account left waiting is not the next one's to see."""
    phone = report_offline(open_page, week)
    page = phone.page
    page.context.clear_cookies()
    page.context.set_offline(False)
    page.goto(phone.base + "/my-rank/")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    page.context.add_cookies([session_cookie(week.cast.other, phone.base)])
    page.goto(phone.base + "/card/")
    expect(page.locator(".spot").first).to_have_text("2-3")
    sheet = page.locator("a", has_text="My set sheet").first.get_attribute("href")
    own = ["/card/", "/my-absences/", sheet]
    for path in own:
        wait_until_kept(page, str(path))
    cut(phone)
    page.goto(phone.base + "/me/")
    expect(page.get_by_role("heading", name="No network")).to_be_visible()
    expect(page.locator("#kept a")).to_have_count(len(own))
    for word in ("Ana", "Eno Farrow", "My rank"):
        assert word not in page.content()
