"""The desk without network asks about the segments in which somebody is missing, and no others."""

from __future__ import annotations

import datetime
from decimal import Decimal
from urllib.parse import parse_qs

import pytest
from django.urls import reverse
from playwright.sync_api import Page, Request, expect

from drill.absences.models import Absence
from drill.gameday.models import DayChange
from tests.architecture.world import client_of
from tests.e2e.conftest import PHONE, OpenPage, Watched, Week
from tests.e2e.test_no_network import at, back, cut, wait_until_kept
from tests.e2e.test_waiting_decisions import desk_kept, waits

pytestmark = pytest.mark.django_db(transaction=True)
BO, FAY, GUS, KIT = "Bo Larkspur", "Fay Ashgrove", "Gus Tamm", "Kit Moss"


def late(week: Week, name: str) -> None:
    """Too late for pregame alone."""
    until = datetime.time(14, 15)
    member = week.band.members[name]
    Absence.objects.create(
        member=member, event=week.band.event, kind="late", late_until=until, state="confirmed"
    )


def ticked(page: Page) -> list[str]:
    boxes = page.locator("#offline-fill label:has(:checked)")
    return [text.strip() for text in boxes.all_inner_texts()]


def sent_by(page: Page) -> list[dict[str, list[str]]]:
    """What every fill that is sent holds."""
    sent: list[dict[str, list[str]]] = []

    def note(request: Request) -> None:
        if request.method == "POST" and request.url.endswith("/fill/"):
            sent.append(parse_qs(request.post_data or ""))

    page.on("request", note)
    return sent


def panel_of(phone: Watched, name: str) -> Page:
    page = phone.page
    page.get_by_role("link", name=f"Who steps in for {name}").first.click()
    expect(page.locator("#offline-fill")).to_be_visible()
    return page


def test_late_for_pregame_is_out_of_pregame_alone(open_page: OpenPage, week: Week) -> None:
    late(week, BO)
    phone = desk_kept(open_page, week)
    page = panel_of(phone, BO)
    assert ticked(page) == ["Pregame"]
    sent = sent_by(page)
    page.get_by_role("button", name="Jon Pell steps in (Pregame)").click()
    waits(page, f"{BO} out (Pregame), Jon Pell steps in")
    back(page)
    expect(page.get_by_text(f"Sent: {BO} is out of Pregame")).to_be_visible(timeout=20_000)
    assert sent and all(one["segments"] == [str(week.band.pregame.pk)] for one in sent)
    assert at(week, "1-2") == BO, "at halftime nobody was asked"
    made = Absence.objects.filter(member=week.band.members[BO], kind="out")
    assert not made.filter(segment=None).exists()


def test_the_list_of_all_ticks_what_is_missed_too(open_page: OpenPage, week: Week) -> None:
    late(week, BO)
    page = desk_kept(open_page, week).page
    page.get_by_role("searchbox", name="Name or spot").fill(BO)
    page.locator(".taps").get_by_role("link", name=BO).click()
    assert ticked(page) == ["Pregame"]
    page.get_by_role("searchbox", name="Name or spot").fill(FAY)
    page.locator(".taps").get_by_role("link", name=FAY).click()
    assert ticked(page) == ["Pregame", "Halftime", "Stands"]


def test_doubtful_for_one_segment_asks_about_that_one(open_page: OpenPage, week: Week) -> None:
    Absence.objects.create(
        member=week.band.members[FAY],
        event=week.band.event,
        segment=week.band.halftime,
        kind="doubtful",
        chance=Decimal("0.3"),
        state="confirmed",
    )
    page = panel_of(desk_kept(open_page, week), FAY)
    assert ticked(page) == ["Halftime"]


def test_an_open_spot_asks_about_where_it_is_open(open_page: OpenPage, week: Week) -> None:
    gone = {"out": week.band.members[GUS].pk, "segments": week.band.halftime.pk, "number": 2}
    fill = reverse("desk-fill", args=[week.band.event.pk])
    client_of(week.cast, "staff").post(fill, gone)
    page = desk_kept(open_page, week).page
    page.get_by_role("link", name="Fill 2-2").click()
    sent = sent_by(page)
    page.get_by_role("button", name=f"{KIT} steps in (Halftime)").click()
    waits(page, f"2-2 open (Halftime), {KIT} steps in")
    back(page)
    expect(page.get_by_text(f"Sent: 2-2 in Halftime: {KIT} steps in")).to_be_visible(timeout=20_000)
    assert sent and all(one["segments"] == [str(week.band.halftime.pk)] for one in sent)


def test_a_second_fill_of_the_same_person_is_refused(open_page: OpenPage, week: Week) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.goto(phone.base + "/desk/")
    for button in (f"{KIT} steps in", "Nobody: leave it open for now"):
        page.get_by_role("searchbox", name="Name or spot").fill(GUS)
        page.locator(".taps").get_by_role("link", name=GUS).click()
        page.locator("#offline-fill").get_by_role("button", name=button).click()
        waits(page, f"{GUS} out, {KIT} steps in")
    told = f"You already chose “{GUS} out, {KIT} steps in”: it waits. Take it back first"
    expect(page.locator("#queue")).to_contain_text(told)
    page.get_by_role("button", name="Take back").click()
    page.locator("#offline-fill").get_by_role("button", name="Nobody").click()
    waits(page, f"{GUS} out, nobody steps in")
    assert not DayChange.objects.exists()
