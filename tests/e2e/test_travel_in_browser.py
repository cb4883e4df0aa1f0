"""A trip with too few places, through pages alone, on a desk and on a phone."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from bandops.lib.outbox.running import run_job, waiting_jobs
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Week

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_trip_is_made_posted_printed_and_taken_back(
    week: Week, open_page: OpenPage, width: int, scripts: bool
) -> None:
    event = week.band.event
    event.travel_limit = 8
    event.save()
    staff = open_page(week.cast.staff, width, java_script_enabled=scripts)
    page = staff.page
    page.goto(f"{staff.base}/dates/{event.pk}/")
    page.get_by_role("link", name="Travel list").click()
    page.get_by_role("button", name="Make this list").click()
    expect(page.get_by_text("The draft list has 8 people.")).to_be_visible()
    page.get_by_text("Marchers (").click()
    page.get_by_role("button", name="Take Eno Farrow off the list").click()
    page.get_by_role("button", name="Post the list").click()
    expect(page.get_by_text("1-5: Eno Farrow marches it and is not on the list")).to_be_visible()
    page.get_by_role("button", name="Put Eno Farrow on the list").first.click()
    page.get_by_role("button", name="Post the list").click()
    expect(page.get_by_text("The list is posted")).to_be_visible()
    for job_id in waiting_jobs():
        run_job(job_id)
    page.goto(page.url)
    expect(page.get_by_role("link", name="Travel list, US Letter")).to_be_visible()
    member = open_page(week.cast.member, width)
    expect(member.go(f"/card/{event.pk}/").get_by_text("you do not travel")).to_be_visible()
    page.get_by_role("button", name="Take back to a draft").click()
    expect(page.get_by_text("everybody may march")).to_be_visible()
    staff.quiet()
