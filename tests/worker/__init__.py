"""Tests with a real worker: this app, installed only in it, kills it where a test planned to."""

from __future__ import annotations

import os
import signal
from pathlib import Path
from typing import Any

from django.apps import AppConfig


class KillPlan(AppConfig):
    """A file ``<point>-<kind of job>`` in ``KILL_PLAN`` kills the worker there, once.

    Its text says whom: ``child``, the process that does the job, or ``worker``, both. The file
    ``done`` then names the job's key.
    """

    name = "tests.worker"
    label = "kill_plan"

    def ready(self) -> None:
        from bandops.lib.outbox.running import job_claimed, job_prepared

        job_claimed.connect(self.at_claimed)
        job_prepared.connect(self.at_prepared)

    def at_claimed(self, job: Any, **rest: Any) -> None:
        kill("claimed", job)

    def at_prepared(self, job: Any, **rest: Any) -> None:
        kill("prepared", job)


def kill(point: str, job: Any) -> None:
    """Die here if the plan says so; the plan's file goes first, so it happens once."""
    plan = Path(os.environ["KILL_PLAN"]) / f"{point}-{job.kind}"
    if not plan.exists():
        return
    whom = plan.read_text()
    plan.write_text(job.key)
    plan.rename(plan.with_name("done"))
    if whom == "worker":
        os.kill(os.getppid(), signal.SIGKILL)
    os.kill(os.getpid(), signal.SIGKILL)
