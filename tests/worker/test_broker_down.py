"""Without a broker publishing works; the sweep hands the jobs out when the broker is back."""

from __future__ import annotations

import time
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.outbox import dispatch
from bandops.lib.outbox.models import Artifact, Job
from drill.lineup import queries as lineup_queries
from drill.lineup.services.drafts import open_draft
from tests.conftest import BACKEND
from tests.factories import make_band, make_cast
from tests.servers import free_port
from tests.worker.conftest import Workers, all_done, sender, wait_until

PATIENCE_SECONDS = 15


def test_publishing_without_a_broker_succeeds_and_the_sweep_catches_up(
    workers: Workers, monkeypatch: pytest.MonkeyPatch, settings: Any
) -> None:
    nobody = f"redis://127.0.0.1:{free_port()}/0"
    monkeypatch.setattr(dispatch, "current_app", sender(nobody, "nobody"))
    band = make_band()
    staff = make_cast(band).staff
    draft = open_draft(actor=staff, event=band.event)
    client = Client()
    client.force_login(staff, backend=BACKEND)
    start = time.monotonic()
    page = client.post(
        reverse("publish", args=[band.event.pk]), {"version": draft.version, "number": ""}
    )
    assert time.monotonic() - start < PATIENCE_SECONDS
    lineup = lineup_queries.published(band.event)
    assert lineup is not None and page["Location"] == reverse("revision", args=[lineup.pk])
    assert Job.objects.filter(done_at=None, attempts=0).count() == 10
    assert b"0 of 10 prints and notices are done" in client.get(page["Location"]).content
    workers.start()
    workers.sweep()
    wait_until(all_done, "all jobs done")
    assert Artifact.objects.count() == 2 and len(workers.sent()) == 8
    assert b"All 10 prints and notices are done" in client.get(page["Location"]).content
