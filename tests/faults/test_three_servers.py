"""Three web servers and two workers on one database and one broker, and one of each is killed."""

from __future__ import annotations

import contextlib
import datetime
import itertools
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.error
import urllib.parse
import urllib.request
import uuid
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field

import pytest
from django.conf import settings as django_settings
from django.db import connection
from django.test import Client
from django.urls import reverse

from bandops.env import ROOT
from bandops.lib.models import Artifact, SentForm
from drill.absences.models import Absence
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.publishing.models import Notice
from tests.conftest import BACKEND
from tests.factories import Band, Cast, make_band, make_cast
from tests.servers import free_port
from tests.worker.conftest import Workers, all_done, redis_url, shared_database, wait_until, workers

__all__ = ["redis_url", "shared_database", "workers"]

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.worker]
SERVERS, CLIENTS, EACH = 3, 6, 6
TRIES = 12


@dataclass
class Servers:
    """Web servers of one site, each a process of its own; a client asks one after the other."""

    variables: dict[str, str]
    ports: list[int] = field(default_factory=list)
    running: list[subprocess.Popen[bytes]] = field(default_factory=list)
    refused: Counter[str] = field(default_factory=Counter)

    def start(self) -> None:
        port = free_port()
        command = [sys.executable, "-m", "gunicorn", "--workers=1", f"--bind=127.0.0.1:{port}"]
        command += ["--log-level=error", "bandops.wsgi"]
        process = subprocess.Popen(command, env=self.variables, cwd=ROOT, start_new_session=True)
        self.running.append(process)
        self.ports.append(port)
        for _ in range(300):
            with contextlib.suppress(OSError):
                urllib.request.urlopen(f"http://127.0.0.1:{port}/health/ready", timeout=5)
                return
            time.sleep(0.1)
        raise TimeoutError("a server did not start")

    def kill(self, number: int) -> None:
        """At once, with its processes, whatever they are doing."""
        os.killpg(self.running[number].pid, signal.SIGKILL)
        self.running[number].wait()

    def stop(self) -> None:
        for process in self.running:
            with contextlib.suppress(ProcessLookupError):
                os.killpg(process.pid, signal.SIGKILL)
            process.wait()


class Browser:
    """Somebody signed in, who asks the next server when one does not answer, as a proxy does for
    pages and a person does for forms."""

    def __init__(self, servers: Servers, cookies: str, start: int) -> None:
        self.servers, self.cookies = servers, cookies
        self.turn = itertools.count(start)

    def ask(self, path: str, data: dict[str, str] | None = None) -> tuple[int, str]:
        body = None if data is None else urllib.parse.urlencode(data).encode()
        for _ in range(TRIES):
            port = self.servers.ports[next(self.turn) % len(self.servers.ports)]
            request = urllib.request.Request(f"http://127.0.0.1:{port}{path}", body)
            request.add_header("Cookie", self.cookies)
            try:
                with _opener.open(request, timeout=60) as answer:
                    return answer.status, answer.read().decode()
            except urllib.error.HTTPError as error:
                return error.code, error.read().decode()
            except OSError as error:
                self.servers.refused[type(error).__name__] += 1
                time.sleep(0.05)
        raise TimeoutError("no server answers")


class _Stays(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *args: object, **kwargs: object) -> None:
        return None


_opener = urllib.request.build_opener(_Stays)


@pytest.fixture
def servers(workers: Workers) -> Iterator[Servers]:
    if connection.vendor != "postgresql":
        pytest.skip("several servers need PostgreSQL")
    made = Servers(workers.variables | {"DJANGO_SETTINGS_MODULE": "tests.faults.settings"})
    for _ in range(SERVERS):
        made.start()
    yield made
    made.stop()


def cookies_of(cast: Cast) -> str:
    client = Client(enforce_csrf_checks=True)
    client.force_login(cast.staff, backend=BACKEND)
    client.get("/sign-in/")
    names = (django_settings.SESSION_COOKIE_NAME, django_settings.CSRF_COOKIE_NAME)
    return "; ".join(f"{name}={client.cookies[name].value}" for name in names)


def report(browser: Browser, band: Band, names: list[str], codes: list[int]) -> None:
    """Absences one after the other, each form once read and sent until it is answered."""
    for name in names:
        _, page = browser.ask(reverse("absence-new"))
        token = re.findall(r'csrfmiddlewaretoken" value="([^"]*)"', page)[-1]
        data = {
            "csrfmiddlewaretoken": token,
            "key": str(uuid.uuid4()),
            "member": str(band.members[name].pk),
            "kind": "out",
            "from_date": (band.event.date + datetime.timedelta(days=10)).isoformat(),
        }
        codes.append(browser.ask(reverse("absence-new"), data)[0])


def test_the_site_goes_on_with_what_is_left(workers: Workers, servers: Servers) -> None:
    band = make_band()
    cast = make_cast(band)
    cookies = cookies_of(cast)
    draft = open_draft(actor=cast.staff, event=band.event)
    first_worker = workers.start()
    workers.start()
    codes: list[int] = []
    names = [list(band.members)[n::CLIENTS][:EACH] for n in range(CLIENTS)]
    threads = [
        threading.Thread(target=report, args=(Browser(servers, cookies, n), band, some, codes))
        for n, some in enumerate(names)
    ]
    for thread in threads:
        thread.start()
    publisher = Browser(servers, cookies, 0)
    url = reverse("publish", args=[band.event.pk])
    page = publisher.ask(url)[1]
    token = re.findall(r'csrfmiddlewaretoken" value="([^"]*)"', page)[-1]
    time.sleep(0.4)
    servers.kill(1)
    data = {"csrfmiddlewaretoken": token, "version": str(draft.version), "number": ""}
    code, _ = publisher.ask(url, data)
    os.killpg(first_worker.pid, signal.SIGKILL)
    again, _ = publisher.ask(url, data)
    for thread in threads:
        thread.join(120)
    assert (code, again) == (302, 302), "and sent again it is the same"
    assert codes and set(codes) == {302}, Counter(codes)
    reported = Counter(Absence.objects.values_list("member", flat=True))
    assert len(reported) == sum(map(len, names)) and set(reported.values()) == {1}, "none twice"
    assert Lineup.objects.filter(state="published").count() == 1
    time.sleep(2.5)  # the leases of the killed worker's jobs
    workers.sweep()
    wait_until(all_done, "all jobs done")
    assert set(Counter(Artifact.objects.values_list("key", flat=True)).values()) == {1}
    told = Notice.objects.filter(lineup__event=band.event)
    assert set(told.values_list("state", flat=True)) == {"sent"}
    assert SentForm.objects.count() == len(reported) + 1
    sent = Counter(workers.sent())
    assert len(sent) == told.count() and max(sent.values()) <= 2, "never not at all"
    print(
        f"\nThree servers, two workers: {len(reported)} reports and a publication, "
        f"{sum(servers.refused.values())} requests met a dead server and went on, none lost"
    )
