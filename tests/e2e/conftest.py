"""A real browser on a real server; what the console says counts as a failure."""

from __future__ import annotations

import gzip
import os
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings as django_settings
from django.contrib.staticfiles import finders
from django.test import Client
from playwright.sync_api import (
    Browser,
    BrowserContext,
    ConsoleMessage,
    Page,
    Playwright,
    Response,
    expect,
)

from bandops import doctor
from bandops.env import ROOT
from bandops.lib.accounts.models import User
from bandops.lib.imports.models import ImportUpload
from bandops.lib.outbox.running import run_job, waiting_jobs
from drill.absences.services.absences import Report, report_absence
from drill.field.core.field import UNITS_PER_STEP
from drill.lineup.models import Backup, Lineup
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from drill.lineup.services.orders import block_member, pin_member
from drill.publishing.services.publishing import publish_lineup
from drill.shows.models import Dot, DrillSet, Position, Show, ShowVersion
from tests.conftest import BACKEND, ENDINGS
from tests.factories import Band, Cast, make_band, make_cast
from tests.snapshots import Once

SAMPLES = ROOT / "fixtures" / "samples"
WIDE, PHONE = 1440, 390
HEIGHTS = {WIDE: 900, PHONE: 844}
CHROMIUM_OPTIONS = [
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--disable-quic",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def playwright(playwright: Playwright) -> Iterator[Playwright]:
    """The worlds that were built under its event loop are taken back before the loop ends."""
    yield playwright
    for take_back in ENDINGS:
        take_back()


@pytest.fixture(scope="session")
def browser_type_launch_args(browser_type_launch_args: dict[str, Any]) -> dict[str, Any]:
    """The machine's own Chromium; without one the browser tests are skipped."""
    path = doctor.find_chromium()
    if path is None:
        lack = "no Chromium: apt-get install chromium, or set CHROMIUM_PATH"
        if os.environ.get("REQUIRE_BROWSER") == "1":
            pytest.fail(lack)
        pytest.skip(lack)
    # Its sandbox refuses to start for root, as in a container.
    sandbox = ["--no-sandbox"] if os.geteuid() == 0 else []
    return {
        **browser_type_launch_args,
        "executable_path": path,
        "args": [*CHROMIUM_OPTIONS, *sandbox],
    }


@dataclass
class Watched:
    """A page with everything that went wrong on it."""

    page: Page
    base: str
    wrong: list[str] = field(default_factory=list)
    expected_status: int = 0

    def watch(self) -> None:
        self.page.on("console", self._console)
        self.page.on("pageerror", lambda error: self.wrong.append(f"script: {error}"))
        self.page.on("response", self._response)

    def go(self, path: str) -> Page:
        """Open a path of the site, and wait for its letters and the parts it asks for."""
        self.page.goto(self.base + path)
        # An answer that never comes must fail the test, not hold it for ever.
        asked_for = self.page.evaluate(
            """Promise.race([
              document.fonts.ready.then(() => document.querySelectorAll(".htmx-request").length),
              new Promise((resolve) => setTimeout(() => resolve(-1), 20000)),
            ])"""
        )
        assert asked_for >= 0, f"{path}: its letters never came"
        if asked_for:
            expect(self.page.locator(".htmx-request")).to_have_count(0)
        return self.page

    def own_bytes(self) -> int:
        """What the page loaded of our own styles and scripts, packed as production sends them."""
        names: list[str] = self.page.evaluate(
            """performance.getEntriesByType("resource")
            .map((r) => r.name.match(/\\/static\\/(bandops\\/[^/]+\\.(?:css|js))/)?.[1])
            .filter(Boolean)"""
        )
        files = [Path(str(finders.find(name))).read_bytes() for name in set(names)]
        return sum(len(gzip.compress(content)) for content in files)

    def quiet(self) -> None:
        """Nothing went wrong: no console message, no refused or missing file."""
        assert not self.wrong, f"{self.page.url}: {self.wrong}"

    def _console(self, message: ConsoleMessage) -> None:
        if message.type in ("error", "warning") and not self._expected(message.text):
            self.wrong.append(f"console: {message.text}")

    def _expected(self, text: str) -> bool:
        if text == "Service Worker registration blocked by Playwright":
            return True
        return bool(self.expected_status) and f"status of {self.expected_status}" in text

    def _response(self, response: Response) -> None:
        if response.status >= 400 and response.status != self.expected_status:
            self.wrong.append(f"{response.status}: {response.url}")


@pytest.fixture(scope="session")
def live_server(django_db_setup: None, live_server: Any) -> Any:
    """Started when the tests' own database is there: before, it would take the one in memory, and
    all its threads would share one connection."""
    return live_server


OpenPage = Callable[..., Watched]


@pytest.fixture
def open_page(live_server: Any, browser: Browser, settings: Any) -> Iterator[OpenPage]:
    """A new browser with its own cookies, signed in as an account when one is given."""
    settings.SITE_URL = live_server.url
    settings.JOBS_RUN_IN = "later"
    contexts: list[BrowserContext] = []

    def opened(user: User | None = None, width: int = WIDE, **options: Any) -> Watched:
        view = {"width": width, "height": HEIGHTS[width]}
        # A worker fetches pages to keep them, even while the test's database is being emptied.
        options = {"service_workers": "block", **options}
        options = {"reduced_motion": "reduce", "viewport": view, **options}
        context = browser.new_context(**options)
        context.set_default_timeout(10_000)
        contexts.append(context)
        if user is not None:
            context.add_cookies([session_cookie(user, live_server.url)])
        made = Watched(context.new_page(), live_server.url)
        made.watch()
        return made

    yield opened
    for context in contexts:
        context.close()
    time.sleep(0.5)  # the server may still be answering what the browser no longer waits for


def session_cookie(user: User, url: str) -> Any:
    """The cookie of a session for the account."""
    client = Client()
    client.force_login(user, backend=BACKEND)
    name = django_settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value, "url": url}


@dataclass
class Week:
    """The small band in the middle of a week: two revisions, a draft with a hole, orders."""

    band: Band
    cast: Cast
    first: Lineup
    second: Lineup
    show: Show
    upload: ImportUpload


@pytest.fixture(scope="session")
def once(tmp_path_factory: pytest.TempPathFactory) -> Once:
    """The worlds that the browser's tests of this process begin with."""
    return Once(tmp_path_factory.mktemp("once"))


@pytest.fixture
def week(transactional_db: None, settings: Any, once: Once) -> Week:
    settings.JOBS_RUN_IN = "later"
    made: Week = once.world("week", _build_week)
    return made


def _build_week() -> Week:
    band = make_band()
    cast = make_cast(band)
    show = _draw(band)
    _backup(band)
    first = _publish(band, cast, None)
    _out(band, cast, "Cai Ørnberg")
    take_proposal(actor=cast.staff, event=band.event, seen_version=1)
    second = _publish(band, cast, 1)
    for job_id in waiting_jobs():
        run_job(job_id)
    _trouble(band, cast)
    upload = ImportUpload.objects.create(
        kind="members",
        filename="members_semicolons.csv",
        content=(SAMPLES / "messy" / "members_semicolons.csv").read_bytes(),
        by=cast.director,
    )
    return Week(band, cast, first, second, show, upload)


def _draw(band: Band) -> Show:
    """Three sets of the show: a line that moves to the right and back."""
    show = band.pregame.show
    assert show is not None
    version = ShowVersion.objects.create(show=show, label="1", order=1)
    dots = [Dot.objects.create(show=show, label=label) for label in band.spots]
    for order in (1, 2, 3):
        drawn = DrillSet.objects.create(version=version, order=order, label=str(order), counts=16)
        for n, dot in enumerate(dots):
            x = (4 * n - 16 + 8 * (order % 2)) * UNITS_PER_STEP
            y = (28 + 4 * order) * UNITS_PER_STEP
            Position.objects.create(set=drawn, dot=dot, x=x, y=y)
    return show


def _backup(band: Band) -> None:
    for order, name in enumerate(("Ida Voss", "Jon Pell"), 1):
        Backup.objects.create(spot=band.spots["1-2"], member=band.members[name], order=order)


def _publish(band: Band, cast: Cast, number: int | None) -> Lineup:
    draft = open_draft(actor=cast.staff, event=band.event)
    return publish_lineup(
        actor=cast.staff, event=band.event, seen_version=draft.version, seen_number=number
    )


def _out(band: Band, cast: Cast, name: str, **values: Any) -> None:
    report = Report(band.members[name], {"kind": "out", "event": band.event, **values})
    report_absence(actor=cast.staff, report=report, by_staff=True)


def _trouble(band: Band, cast: Cast) -> None:
    """A hole, somebody doubtful, a report to decide, a pin, a block, a must-travel."""
    _out(band, cast, "Hal Brook")
    _out(band, cast, "Dee Quill", kind="doubtful", chance=Decimal("0.3"))
    own = Report(band.members["Gus Tamm"], {"kind": "out", "event": band.event})
    report_absence(actor=cast.other, report=own, by_staff=False)
    pin_member(
        actor=cast.staff,
        event=band.event,
        segment=None,
        spot=band.spots["1-1"],
        member=band.members["Ana Núñez"],
    )
    block_member(
        actor=cast.staff,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-2"],
        member=band.members["Jon Pell"],
    )
    band.event.must_travel.add(band.members["Kit Moss"])
    draft = open_draft(actor=cast.staff, event=band.event)
    take_proposal(actor=cast.staff, event=band.event, seen_version=draft.version)
