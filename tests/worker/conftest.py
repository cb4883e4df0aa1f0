"""A database that the tests and a worker share, and the worker."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import time
import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from celery import Celery
from django.db import connection

from bandops import doctor
from bandops.env import ROOT
from bandops.lib.outbox import dispatch
from bandops.lib.outbox.models import Job

WAIT_SECONDS = 60
REDIS_DATABASES = 16


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if here in item.path.parents:
            item.add_marker(pytest.mark.worker)
            item.add_marker(pytest.mark.postgres("processes claim jobs from one another"))


@pytest.fixture(scope="session")
def redis_url() -> str:
    """The Redis that ``tests.services`` started; without one the worker tests are skipped."""
    url = os.environ.get("REDIS_URL")
    if url and doctor.PDF not in doctor.lacks():
        return own_database(url, os.environ.get("PYTEST_XDIST_WORKER", "gw0"))
    lack = "no Redis: run `python -m tests.services`" if not url else "no Pango for the prints"
    if os.environ.get("REQUIRE_REDIS") == "1":
        pytest.fail(lack)
    pytest.skip(lack)


def own_database(url: str, process: str) -> str:
    """The address of the process's own database in that Redis, where no other looks for jobs."""
    server, _, number = url.rpartition("/")
    return f"{server}/{(int(number) + int(process.removeprefix('gw'))) % REDIS_DATABASES}"


@pytest.fixture
def shared_database(transactional_db: None) -> str:
    """The address of the tests' database for other processes."""
    d = connection.settings_dict
    if connection.vendor == "sqlite":
        return f"sqlite:///{d['NAME']}"
    return f"postgresql://{d['USER']}:{d['PASSWORD']}@{d['HOST']}:{d['PORT']}/{d['NAME']}"


@dataclass
class Workers:
    """What the processes beside the tests get, and those that run."""

    variables: dict[str, str]
    plan: Path
    mails: Path
    running: list[subprocess.Popen[bytes]] = field(default_factory=list)

    def kill_at(self, point: str, kind: str, whom: str) -> None:
        """Plan one kill; `tests.worker.KillPlan` does it."""
        (self.plan / f"{point}-{kind}").write_text(whom)

    def cut_off(self) -> str:
        """The key of the job that the plan killed, empty before."""
        done = self.plan / "done"
        return done.read_text() if done.exists() else ""

    def start(self) -> subprocess.Popen[bytes]:
        """A worker with one child."""
        command = [sys.executable, "-m", "celery", "-A", "bandops.celery", "worker"]
        command += ["--pool", "prefork", "-c", "1", "-l", "ERROR"]
        command += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
        worker = subprocess.Popen(command, env=self.variables, cwd=ROOT, start_new_session=True)
        self.running.append(worker)
        return worker

    def sweep(self) -> None:
        """One minute's sweep, as the timer runs it."""
        command = [sys.executable, "manage.py", "sweep_jobs"]
        subprocess.run(command, env=self.variables, cwd=ROOT, check=True, capture_output=True)

    def stop(self) -> None:
        """End what still runs: politely, then by force with its children."""
        for worker in self.running:
            if worker.poll() is None:
                worker.terminate()
                try:
                    worker.wait(15)
                except subprocess.TimeoutExpired:
                    os.killpg(worker.pid, signal.SIGKILL)
                    worker.wait()

    def sent(self) -> list[str]:
        """The address of every mail that went out, once for each time."""
        mails = (p.read_text() for p in self.mails.iterdir())
        lines = (line for mail in mails for line in mail.splitlines())
        return sorted(x.removeprefix("To: ") for x in lines if x.startswith("To: "))


@pytest.fixture
def workers(
    redis_url: str,
    shared_database: str,
    tmp_path: Path,
    settings: Any,
    monkeypatch: pytest.MonkeyPatch,
) -> Iterator[Workers]:
    """Workers of a queue of their own; the tests' process sends jobs into it."""
    queue = f"tests-{uuid.uuid4()}"
    plan, mails, media = tmp_path / "plan", tmp_path / "mails", tmp_path / "media"
    for folder in (plan, mails, media):
        folder.mkdir()
    settings.MEDIA_ROOT, settings.JOBS_RUN_IN = media, "celery"
    monkeypatch.setattr(dispatch, "_broker", dispatch._Broker())
    monkeypatch.setattr(dispatch, "current_app", sender(redis_url, queue))
    variables = {
        **os.environ,
        "DJANGO_SETTINGS_MODULE": "tests.worker.settings",
        "DATABASE_URL": shared_database,
        "REDIS_URL": redis_url,
        "QUEUE": queue,
        "KILL_PLAN": str(plan),
        "MAIL_FOLDER": str(mails),
        "MEDIA_ROOT": str(media),
    }
    made = Workers(variables, plan, mails)
    yield made
    made.stop()
    shutil.rmtree(media)


def sender(url: str, queue: str) -> Celery:
    """The sending side of the site, for a queue."""
    app = Celery("sender", broker=url, set_as_current=False)
    app.conf.task_default_queue = queue
    return app


def wait_until(condition: Callable[[], bool], what: str) -> None:
    """Return when the condition holds; fail after `WAIT_SECONDS`."""
    deadline = time.monotonic() + WAIT_SECONDS
    while time.monotonic() < deadline:
        if condition():
            return
        time.sleep(0.2)
    open_jobs = list(Job.objects.filter(done_at=None).values("key", "attempts", "error"))
    pytest.fail(f"not within {WAIT_SECONDS} s: {what}; open jobs: {open_jobs}")


def all_done() -> bool:
    return not Job.objects.filter(done_at=None).exists()
