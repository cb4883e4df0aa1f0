"""Decisions without network: they wait as other changes do, or the button says why not."""

from __future__ import annotations

import datetime

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Page, expect

from drill.absences.models import Absence
from drill.events.models import Event
from drill.gameday.models import Clash, DayChange, FillRequest
from drill.publishing.models import Notice
from tests.architecture.world import client_of
from tests.e2e.conftest import PHONE, OpenPage, Watched, Week
from tests.e2e.test_no_network import at, back, cut, meanwhile, wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)
GUS, KIT, JON = "Gus Tamm", "Kit Moss", "Jon Pell"


def cut_off_passed(week: Week) -> None:
    passed = timezone.now() - datetime.timedelta(hours=1)
    Event.objects.filter(pk=week.band.event.pk).update(cut_off=passed)


def desk_kept(open_page: OpenPage, week: Week, *more: str) -> Watched:
    """The director's phone with the desk, away from the network."""
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    for path in ("/desk/", *more):
        wait_until_kept(page, path)
    cut(phone)
    page.goto(phone.base + "/desk/")
    return phone


def waits(page: Page, label: str) -> None:
    expect(page.locator("#queue")).to_contain_text("1 change waits on this phone")
    expect(page.locator("#queue li").first).to_contain_text(label)


def ask_for_kit(week: Week) -> FillRequest:
    """After the cut-off staff asked for Kit in Gus's place."""
    cut_off_passed(week)
    members = week.band.members
    form = {"out": members[GUS].pk, "in": members[KIT].pk, "number": 2}
    client_of(week.cast, "staff").post(reverse("desk-fill", args=[week.band.event.pk]), form)
    return FillRequest.objects.get()


def test_a_request_is_approved_without_network(open_page: OpenPage, week: Week) -> None:
    ask_for_kit(week)
    page = desk_kept(open_page, week).page
    page.get_by_role("button", name="Approve and publish").click()
    waits(page, "Approve what Staff asked: ")
    page.reload()
    expect(page.get_by_text("Waiting for a network: Approve what Staff asked")).to_be_visible()
    assert at(week, "2-2") == GUS
    back(page)
    expect(page.get_by_text("Sent: Approved: revision 3.")).to_be_visible(timeout=20_000)
    assert at(week, "2-2") == KIT


def test_a_request_is_declined_without_network(open_page: OpenPage, week: Week) -> None:
    asked = ask_for_kit(week)
    page = desk_kept(open_page, week).page
    page.get_by_label("Why not?").fill("Kit has no hat")
    page.get_by_role("button", name="Decline").click()
    waits(page, "Decline what Staff asked: ")
    back(page)
    expect(page.get_by_text("Sent: Declined.")).to_be_visible(timeout=20_000)
    asked.refresh_from_db()
    assert (asked.state, asked.answer) == ("declined", "Kit has no hat")


def test_a_card_is_decided_without_network(open_page: OpenPage, week: Week) -> None:
    meanwhile(week, GUS, JON)
    members = week.band.members
    form = {"out": members[GUS].pk, "in": members[KIT].pk, "number": 2}
    client_of(week.cast, "staff").post(reverse("desk-fill", args=[week.band.event.pk]), form)
    page = desk_kept(open_page, week).page
    page.get_by_role("button", name=f"Take {KIT}").click()
    waits(page, f"2-2: Take {KIT}")
    assert at(week, "2-2") == JON and Clash.objects.get().state == "open"
    back(page)
    expect(page.get_by_text(f"Sent: 2-2: {KIT} marches.")).to_be_visible(timeout=20_000)
    assert at(week, "2-2") == KIT


def test_a_change_is_taken_back_and_a_member_told_without_network(
    open_page: OpenPage, week: Week
) -> None:
    Absence.objects.filter(member=week.band.members[GUS]).delete()
    meanwhile(week, GUS, JON)
    change = DayChange.objects.get()
    path = reverse("desk-change", args=[change.pk])
    phone = desk_kept(open_page, week, path)
    page = phone.page
    page.get_by_role("link", name="Open the change").click()
    page.get_by_role("button", name=f"{JON} was told in person").click()
    waits(page, f"{JON} was told in person")
    page.get_by_role("button", name="Take this change back").click()
    expect(page.get_by_text("2 changes wait on this phone")).to_be_visible()
    expect(page.locator("#queue li").nth(1)).to_contain_text("Take back revision 3")
    back(page)
    expect(page.get_by_text("Sent: Taken back. Revision 4 is published.")).to_be_visible(
        timeout=20_000
    )
    assert at(week, "2-2") == GUS
    told = Notice.objects.get(lineup=change.after, member=week.band.members[JON])
    assert (told.state, told.told_by) == ("told in person", week.cast.director)


def test_two_swap_without_network(open_page: OpenPage, week: Week) -> None:
    Absence.objects.filter(member=week.band.members[GUS]).delete()
    path = reverse("desk-swap", args=[week.band.event.pk])
    phone = desk_kept(open_page, week, path)
    page = phone.page
    page.goto(phone.base + path)
    first, second = at(week, "2-1"), at(week, "2-2")
    for field, name in (("Who", first), ("With whom", second)):
        chosen = page.get_by_label(field, exact=True)
        chosen.select_option(value=str(week.band.members[name].pk))
    page.get_by_role("checkbox", name="Pregame").uncheck()
    page.get_by_role("button", name="Preview it").click()
    expect(page.get_by_text("This needs a network. Nothing is lost")).to_be_visible()
    expect(page.get_by_label("With whom").locator("option:checked")).to_contain_text(second)
    page.get_by_role("button", name="Swap them").click()
    waits(page, f"Swap two: {first} (")
    back(page)
    sent = page.get_by_text(f"Sent: {first} and {second} are swapped.")
    expect(sent).to_be_visible(timeout=20_000)
    assert (at(week, "2-1"), at(week, "2-2")) == (second, first)


def test_what_cannot_wait_says_so_in_place(open_page: OpenPage, week: Week) -> None:
    page = desk_kept(open_page, week).page
    page.get_by_role("button", name="slip").first.click()
    expect(page.get_by_text("This needs a network. Nothing is lost")).to_be_visible()
    expect(page).to_have_url(page.url)
    page.get_by_role("link", name="Prints and notices").click()
    expect(page.get_by_text("This needs a network. Nothing is lost")).to_have_count(1)
    expect(page.get_by_role("heading", name="Game day", exact=True)).to_be_visible()


def test_bars_without_a_line_never_show_the_browsers_own_error(
    open_page: OpenPage, week: Week
) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    always = "Object.defineProperty(Navigator.prototype, 'onLine', { get: () => true })"
    phone.page.context.add_init_script(always)
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.get_by_role("button", name="slip").first.click()
    expect(
        page.get_by_text("This needs a network. Nothing was sent and nothing is lost.")
    ).to_be_visible()
    page.go_back()
    expect(page.get_by_role("heading", name="Game day", exact=True)).to_be_visible()


def test_a_wish_for_the_director_says_so_while_it_waits(open_page: OpenPage, week: Week) -> None:
    cut_off_passed(week)
    phone = open_page(week.cast.staff, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.goto(phone.base + "/desk/")
    page.get_by_role("searchbox", name="Name or spot").fill(GUS)
    page.locator(".taps").get_by_role("link", name=GUS).click()
    page.get_by_role("button", name=f"Ask the director: {KIT} steps in").click()
    waits(page, f"Ask the director: {GUS} out, {KIT} steps in")
