"""The week from an empty season to a replaced page, through pages alone, with scripts and without.

S8 is the story of the stale page.
"""

from __future__ import annotations

import re
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from playwright.sync_api import Page, expect

from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup
from roster.people.models import Member, Season
from tests.e2e.conftest import SAMPLES, OpenPage, Watched
from tests.factories.cast import account_of

pytestmark = pytest.mark.django_db(transaction=True)
FILES = ("instruments", "members", "ranks", "alternates", "events", "coordinates")
GAME = "Alderfen at home"
GAME_DAY = "2099-10-17"


def test_the_week(open_page: OpenPage, scripts: bool) -> None:
    staff = open_page(java_script_enabled=scripts)
    _enter_by_invitation(staff)
    for kind in FILES:
        _bring_in(staff.page, kind)
    _add_the_game(staff.page)
    _make_the_lineup(staff.page)
    _mark_out(staff.page, "1-1", "Marisol Núñez", scripts)
    for line in (
        "Pregame: Tadhg O'Brannigan moves from 1-2 to 1-1",
        "Pregame: Imani Okonjola steps in at 1-2",
    ):
        expect(staff.page.get_by_text(line)).to_be_visible()
    staff.page.get_by_role("button", name="Use this proposal").click()
    expect(staff.page.get_by_text("The proposal is the draft now.")).to_be_visible()
    _pin(staff.page, scripts)
    _mend_by_hand(staff.page, scripts)
    first = _publish(staff.page, 1)
    _watch_the_prints(staff, first, scripts)
    _member_and_leader(open_page, scripts)
    _second_revision(staff.page, scripts)
    _old_page_is_replaced(open_page, first, scripts)
    staff.quiet()


@pytest.fixture(params=[True, False], ids=["scripts", "no scripts"])
def scripts(request: pytest.FixtureRequest) -> bool:
    return bool(request.param)


def _enter_by_invitation(staff: Watched) -> None:
    out = StringIO()
    call_command(
        "init_band",
        band="Quillwater College Marching Band",
        email="director@staff.example",
        name="Imogen Castellanos-Wray",
        starts="2026-08-10",
        ends="2099-12-20",
        stdout=out,
    )
    link = re.search(r"https?://\S+?(/link/\S+)", out.getvalue())
    assert link is not None
    page = staff.go(link[1])
    page.get_by_role("main").get_by_role("button", name="Sign in").click()
    expect(page.get_by_role("heading", name="This week")).to_be_visible()
    expect(page.get_by_role("link", name="Set up the season")).to_be_visible()


def _bring_in(page: Page, kind: str) -> None:
    """Upload, review, accept."""
    page.get_by_role("link", name="Season", exact=True).click()
    page.get_by_role("link", name="Import and export").click()
    page.locator(f"a[href='/imports/{kind}/']").click()
    page.get_by_label("File").set_input_files(SAMPLES / f"{kind}.csv")
    page.get_by_role("button", name="Look at it").click()
    expect(page.get_by_role("heading", name=f"Review: {kind}.csv")).to_be_visible()
    page.get_by_role("button", name="Save all of it").click()
    expect(page.get_by_text(f"{kind}.csv: ").first).to_be_visible()


def _add_the_game(page: Page) -> None:
    """An event with a show before it and stands."""
    page.get_by_role("link", name="Week", exact=True).click()
    page.get_by_role("link", name="Events", exact=True).click()
    page.get_by_role("link", name="Add an event").click()
    page.get_by_label("Name").fill(GAME)
    page.get_by_label("Date").fill(GAME_DAY)
    page.get_by_label("Call time").fill("11:00")
    page.get_by_role("button", name="Save").click()
    for name, kind, show, starts, ends in (
        ("Pregame", "pregame", "Northbound Mail", "14:06", "14:22"),
        ("Stands", "stands", None, "16:15", "17:55"),
    ):
        page.get_by_label("Name").fill(name)
        page.get_by_label("Kind").select_option(kind)
        if show:
            page.get_by_label("Show").select_option(label=show)
        page.get_by_label("Starts").fill(starts)
        page.get_by_label("Ends").fill(ends)
        page.get_by_role("button", name="Add", exact=True).click()
        expect(page.get_by_text(f"{name} is added.")).to_be_visible()


def _make_the_lineup(page: Page) -> None:
    page.get_by_role("link", name="Who marches").first.click()
    page.get_by_role("main").get_by_role("button", name="Make the lineup").click()
    expect(page.get_by_text("The draft is made.")).to_be_visible()


def _open_spot(page: Page, spot: str, scripts: bool) -> None:
    """Who marches, then one spot: beside the lineup, or on a page of its own."""
    page.get_by_role("link", name="Who marches").first.click()
    page.locator(".matrix a").filter(has_text=spot).click()
    expect(page.get_by_role("heading", name=f"{spot}, Pregame")).to_be_visible()
    beside = page.get_by_role("heading", name="Who marches", exact=True)
    assert beside.is_visible() == scripts


def _mark_out(page: Page, spot: str, name: str, scripts: bool) -> None:
    _open_spot(page, spot, scripts)
    page.get_by_text(f"{name} can't march …").click()
    page.get_by_role("button", name="Save and see what moves").click()
    expect(page.get_by_role("heading", name="Proposal")).to_be_visible()


def _pin(page: Page, scripts: bool) -> None:
    _open_spot(page, "1-1", scripts)
    page.locator("summary", has_text="More for Tadhg O'Brannigan").click()
    page.get_by_role("button", name="Pin Tadhg O'Brannigan to 1-1").click()
    expect(page.get_by_text("Saved. This is the new proposal.")).to_be_visible()
    page.get_by_role("link", name="Who marches").first.click()
    expect(page.get_by_text("Tadhg O'Brannigan is pinned to 1-1")).to_be_visible()


def _mend_by_hand(page: Page, scripts: bool) -> None:
    """The spot is emptied and then filled again by hand."""
    _open_spot(page, "2-2", scripts)
    page.locator("summary", has_text="Empty it").click()
    page.get_by_role("button", name="Empty it").click()
    expect(page.get_by_text("2-2 in Pregame: nobody.")).to_be_visible()
    _open_spot(page, "2-2", scripts)
    page.get_by_role("button", name="Put Hana Kurosaki at 2-2").click()
    expect(page.get_by_text("2-2 in Pregame: Hana Kurosaki.")).to_be_visible()


def _publish(page: Page, number: int) -> Lineup:
    page.get_by_role("link", name="Publish …").click()
    page.get_by_role("button", name=f"Publish revision {number}").click()
    expect(page.get_by_text(f"Revision {number} is published.")).to_be_visible()
    lineup = Lineup.objects.get(event__name=GAME, number=number)
    assert page.url.endswith(f"/revisions/{lineup.pk}/")
    return lineup


def _watch_the_prints(staff: Watched, lineup: Lineup, scripts: bool) -> None:
    """The work goes on while the page is open; the links come by themselves with scripts."""
    page = staff.page
    count = len(waiting_jobs())
    expect(page.get_by_text(f"0 of {count} prints and notices are done")).to_be_visible()
    for job_id in waiting_jobs():
        run_job(job_id)
    if not scripts:
        page.reload()
    expect(page.get_by_text(f"All {count} prints and notices are done.")).to_be_visible()
    for title in ("Lineup, US Letter", "Rehearsal assignments, US Letter"):
        link = page.get_by_role("link", name=title)
        file = page.request.get(staff.base + str(link.get_attribute("href")))
        assert file.headers["content-type"] == "application/pdf"
        assert file.body().startswith(b"%PDF")


def _member_and_leader(open_page: OpenPage, scripts: bool) -> None:
    season = Season.objects.get(is_current=True)
    people = {m.name: m for m in Member.objects.filter(season=season).select_related("person")}
    backup = open_page(account_of(people["Imani Okonjola"]), 390, java_script_enabled=scripts)
    page = backup.go("/")
    expect(page.get_by_role("heading", name=GAME)).to_be_visible()
    expect(page.locator("p.spot")).to_have_text("1-2")
    expect(page.get_by_text("you stand in", exact=True)).to_be_visible()
    page.locator("summary", has_text="set by set").click()
    expect(page.get_by_role("row", name=re.compile("Set 2 counts"))).to_be_visible()
    leader = open_page(account_of(people["Søren van der Zandt"]), 390, java_script_enabled=scripts)
    page = leader.go("/")
    expect(page.get_by_role("heading", name="Rank 2", exact=True)).to_be_visible()
    expect(page.locator(".matrix td", has_text="2-2")).to_contain_text("Kurosaki")
    backup.quiet()
    leader.quiet()


def _second_revision(page: Page, scripts: bool) -> None:
    _mark_out(page, "2-2", "Hana Kurosaki", scripts)
    page.get_by_role("button", name="Use this proposal").click()
    second = _publish(page, 2)
    assert lineup_queries.published(second.event) == second


def _old_page_is_replaced(open_page: OpenPage, first: Lineup, scripts: bool) -> None:
    """S8: an old page's code says it is replaced, to anybody, without a name."""
    visitor = open_page(width=390, java_script_enabled=scripts)
    page = visitor.go(f"/r/{first.code}/")
    expect(page.get_by_role("heading", name="Replaced by revision 2")).to_be_visible()
    text: Any = page.locator("main").inner_text()
    assert not re.search("Marisol|Imani|Hana|Alderfen", text)
    newest = Lineup.objects.get(event__name=GAME, number=2)
    page = visitor.go(f"/r/{newest.code}/")
    expect(page.get_by_role("heading", name="Current")).to_be_visible()
    visitor.quiet()
