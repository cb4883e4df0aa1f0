"""A gateway that answers in the server's place, and what may have arrived in spite of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from django.contrib.staticfiles.handlers import StaticFilesHandler
from django.core.handlers.wsgi import WSGIHandler
from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from playwright.sync_api import Page, expect

from drill.gameday.models import Clash, DayChange
from tests.architecture.world import client_of
from tests.e2e.conftest import PHONE, OpenPage, Week
from tests.e2e.test_no_network import at, back, cut, wait_until_kept
from tests.e2e.test_waiting_decisions import GUS, KIT, ask_for_kit, desk_kept, waits

pytestmark = pytest.mark.django_db(transaction=True)


class Gateway:
    """What stands before the server: while ``status`` is set it answers so for the method, before
    the server was asked or, with ``after``, when it has done it."""

    def __init__(self) -> None:
        self.status, self.method, self.after = 0, "GET", False
        self.kind = "text/html"
        self.lost = 0

    def answer(self, ask: Callable[[], Any], request: HttpRequest) -> Any:
        in_trouble = self.status and request.method == self.method
        if in_trouble and not request.path.startswith("/static/"):
            self.lost += 1
            if self.after:
                ask()
            return HttpResponse("<h1>Bad gateway</h1>", self.kind, self.status)
        return ask()


@pytest.fixture
def gateway(monkeypatch: pytest.MonkeyPatch) -> Iterator[Gateway]:
    made, usual = Gateway(), WSGIHandler.get_response

    def get_response(self: WSGIHandler, request: HttpRequest) -> Any:
        return made.answer(lambda: usual(self, request), request)

    monkeypatch.setattr(WSGIHandler, "get_response", get_response)
    yield made
    made.status = 0


@pytest.mark.parametrize("status", [502, 503, 504])
def test_a_kept_page_is_shown_while_the_server_is_in_trouble(
    open_page: OpenPage, week: Week, gateway: Gateway, status: int
) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    gateway.status = status
    page.goto(phone.base + "/desk/")
    expect(page.get_by_role("heading", name="Game day", exact=True)).to_be_visible()
    expect(page.get_by_text("This copy is from")).to_be_visible()
    gateway.status = 0
    page.goto(phone.base + "/desk/")
    expect(page.get_by_text("This copy is from")).to_be_hidden()


def test_no_page_asks_for_what_is_not_there(
    open_page: OpenPage, week: Week, monkeypatch: pytest.MonkeyPatch
) -> None:
    missing, usual = list[str](), StaticFilesHandler.serve

    def serve(self: StaticFilesHandler, request: HttpRequest) -> Any:
        try:
            return usual(self, request)
        except Http404:
            missing.append(request.path)
            raise

    monkeypatch.setattr(StaticFilesHandler, "serve", serve)
    phone = open_page(week.cast.leader, PHONE, service_workers="allow")
    page = phone.go("/my-rank/")
    for path in ("/my-rank/", "/my-rank/report/", "/card/"):
        wait_until_kept(page, path)
    kept = page.evaluate(
        "caches.open('assets').then((s) => s.keys()).then((k) => k.map((r) => r.url))"
    )
    for script in ("queue.js", "waiting.js"):
        assert [url for url in kept if url.endswith(f"/{script}") and " " not in url]
    assert not missing
    phone.quiet()


def fill_at_once(page: Page) -> None:
    """Gus goes, Kit steps in, on a page with network."""
    page.get_by_role("searchbox", name="Name or spot").fill(GUS)
    page.locator(".taps").get_by_role("link", name=GUS).click()
    page.get_by_role("button", name=f"{KIT} steps in").first.click()


def test_what_may_have_arrived_is_not_taken_back(
    open_page: OpenPage, week: Week, gateway: Gateway
) -> None:
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    gateway.status, gateway.method, gateway.after = 502, "POST", True
    fill_at_once(page)
    waits(page, f"{GUS} out, {KIT} steps in")
    told = "This may already have gone through. Look at the desk when you have a network."
    expect(page.locator("#queue li")).to_contain_text(told)
    expect(page.get_by_role("button", name="Take back")).to_have_count(0)
    assert DayChange.objects.count() == 1
    gateway.status = 0
    expect(page.locator("#queue")).to_contain_text("Sent: ", timeout=25_000)
    assert (DayChange.objects.count(), at(week, "2-2")) == (1, KIT)
    assert not Clash.objects.exists()


@pytest.mark.parametrize("kind", ["text/html", "application/json"])
def test_the_queue_sends_again_by_itself(
    open_page: OpenPage, week: Week, gateway: Gateway, kind: str
) -> None:
    phone = desk_kept(open_page, week)
    page = phone.page
    fill_at_once(page)
    waits(page, f"{GUS} out, {KIT} steps in")
    gateway.status, gateway.method, gateway.kind = 502, "POST", kind
    back(page)
    for _ in range(100):
        if gateway.lost:
            break
        page.wait_for_timeout(100)
    waits(page, f"{GUS} out, {KIT} steps in")
    gateway.status = 0
    expect(page.locator("#queue")).to_contain_text("Sent: ", timeout=20_000)
    assert at(week, "2-2") == KIT


def test_what_is_refused_stands_apart_from_what_waits(
    open_page: OpenPage, week: Week, gateway: Gateway
) -> None:
    asked = ask_for_kit(week)
    phone = desk_kept(open_page, week)
    page = phone.page
    page.get_by_role("button", name="Approve and publish").click()
    waits(page, "Approve what Staff asked: ")
    client_of(week.cast, "staff").post(reverse("desk-request-withdraw", args=[asked.pk]))
    back(page)
    queue = page.locator("#queue")
    expect(queue).to_contain_text("Not saved:", timeout=20_000)
    expect(queue).not_to_contain_text("on this phone for a network")
    expect(queue.get_by_role("button", name="Dismiss")).to_be_visible()


def test_a_second_answer_to_a_request_is_refused(open_page: OpenPage, week: Week) -> None:
    ask_for_kit(week)
    phone = desk_kept(open_page, week)
    page = phone.page
    page.get_by_role("button", name="Approve and publish").click()
    waits(page, "Approve what Staff asked: ")
    page.get_by_label("Why not?").fill("Kit has no hat")
    page.get_by_role("button", name="Decline").click()
    expect(page.locator("#queue")).to_contain_text("You already chose “Approve what Staff asked: ")
    waits(page, "Approve what Staff asked: ")
    expect(page.locator("#queue li")).to_have_count(1)
    cut(phone)
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Decline").click()
    waits(page, "Decline what Staff asked: ")
