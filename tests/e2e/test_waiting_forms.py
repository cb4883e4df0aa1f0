"""Forms without network: what they lack is said before they wait, and what was refused can be
corrected; the age of a copy, and leaving a phone that is away."""

from __future__ import annotations

import datetime
import re

import pytest
from playwright.sync_api import expect

from drill.absences.models import Absence
from tests.e2e.conftest import PHONE, OpenPage, Week
from tests.e2e.test_no_network import KEPT, back, cut, report_offline, until, wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_time_that_is_missing_is_asked_for_before_it_waits(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.other, PHONE, service_workers="allow")
    page = phone.go("/my-absences/")
    wait_until_kept(page, "/my-absences/")
    cut(phone)
    member = week.band.members["Hal Brook"]
    before = member.absences.count()
    page.get_by_label("Kind").select_option(value="late")
    page.get_by_role("button", name="Report it").click()
    expect(page.get_by_role("alert")).to_contain_text("Late until: Which time?")
    expect(page.locator("#queue")).to_be_hidden()
    page.get_by_label("Late until").fill("10:30")
    page.get_by_role("button", name="Report it").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    expect(page.get_by_role("alert")).to_have_count(0)
    back(page)
    expect(page.get_by_text("Sent: Reported.")).to_be_visible(timeout=20_000)
    assert member.absences.count() == before + 1
    assert member.absences.latest("pk").late_until == datetime.time(10, 30)


def test_a_later_refusal_names_the_field_and_keeps_the_form(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/report/")
    for path in ("/my-rank/report/", "/my-rank/"):
        wait_until_kept(page, path)
    cut(phone)
    eno = week.band.members["Eno Farrow"]
    page.get_by_label("Member").select_option(value=str(eno.pk))
    page.get_by_label("Kind").select_option(value="limited")
    page.get_by_label("Event").select_option(value="")
    page.get_by_label("From").fill("2099-11-05")
    page.get_by_label("Through").fill("2099-10-01")
    page.get_by_role("button", name="Report").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    page.goto(phone.base + "/my-rank/")
    back(page)
    wrong = "Through: The last day is before the first."
    expect(page.locator("#queue")).to_contain_text("Not saved:")
    expect(page.locator("#queue li")).to_contain_text(wrong)
    page.get_by_role("button", name="Correct it").click()
    expect(page.get_by_role("alert")).to_contain_text(wrong)
    expect(page.get_by_label("Member")).to_have_value(str(eno.pk))
    expect(page.get_by_label("Kind")).to_have_value("limited")
    page.get_by_label("Through").fill("2099-11-06")
    page.get_by_role("button", name="Report").click()
    expect(page.get_by_text("Eno Farrow is reported")).to_be_visible()
    expect(page.locator("#queue")).to_be_hidden()
    made = Absence.objects.get(member=eno)
    assert (made.kind, str(made.until_date)) == ("limited", "2099-11-06")


@pytest.mark.parametrize(
    ("device", "zone"), [("Pacific/Honolulu", " C[SD]T"), ("America/Chicago", "")]
)
def test_the_age_of_a_copy_says_whose_clock_it_is(
    open_page: OpenPage, week: Week, device: str, zone: str
) -> None:
    season = week.band.season
    season.time_zone = "America/Chicago"
    season.save()
    phone = open_page(week.cast.other, PHONE, service_workers="allow", timezone_id=device)
    page = phone.go("/card/")
    wait_until_kept(page, "/card/")
    cut(phone)
    page.goto(phone.base + "/card/")
    clock = rf"(Sun|Mon|Tue|Wed|Thu|Fri|Sat) \d+:\d\d [AP]M{zone}"
    expect(page.locator("#age")).to_contain_text(re.compile(f"This copy is from {clock}, "))
    page.goto(phone.base + "/me/")
    expect(page.locator("#kept li").first).to_contain_text(re.compile(f"kept {clock}"))


def test_leaving_without_network_keeps_what_waits_and_says_so(
    open_page: OpenPage, week: Week
) -> None:
    phone = report_offline(open_page, week)
    page = phone.page
    page.locator(".person summary").click()
    page.get_by_role("button", name="Sign out").click()
    said = page.get_by_role("status").filter(has_text="you are still signed in")
    expect(said).to_contain_text("Waiting changes stay locked")
    until(page, "caches.has('private').then((has) => !has)")
    back(page)
    expect(page.get_by_text("Eno Farrow is reported")).to_be_visible(timeout=20_000)
    assert Absence.objects.filter(member=week.band.members["Eno Farrow"]).count() == 1


def test_leaving_a_page_where_nothing_can_wait_removes_what_was_kept_too(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.staff, PHONE, service_workers="allow")
    page = phone.go("/week/")
    wait_until_kept(page, "/week/")
    cut(phone)
    page.locator(".person summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_text("you are still signed in")).to_be_visible()
    until(page, "caches.has('private').then((has) => !has)")


def test_leaving_by_bars_without_a_line_says_so_too(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.staff, PHONE, service_workers="allow")
    always = "Object.defineProperty(Navigator.prototype, 'onLine', { get: () => true })"
    phone.page.context.add_init_script(always)
    page = phone.go("/week/")
    wait_until_kept(page, "/week/")
    cut(phone)
    page.locator(".person summary").click()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_text("you are still signed in")).to_be_visible()
    until(page, f"({KEPT})('/week/').then((has) => !has)")
