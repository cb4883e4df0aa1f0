"""A worker may be killed at any line: every job is done once, every notice sent at least once."""

from __future__ import annotations

import time
from collections import Counter

import pytest

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Artifact, Job
from drill.lineup.models import Lineup
from drill.lineup.services.drafts import open_draft
from drill.publishing.enums import NoticeState
from drill.publishing.models import Notice
from drill.publishing.services.publishing import publish_lineup
from tests.factories import make_band
from tests.worker.conftest import Workers, all_done, wait_until

LEASE_SECONDS = 2.5  # a little more than the lease in the worker's settings
PRINTS = ["assignments-letter-r1.pdf", "lineup-letter-r1.pdf"]


def publish() -> Lineup:
    """The small band's first lineup: eight notices and two prints to make."""
    band = make_band()
    staff = User.objects.create_user("staff@staff.example", "Staff")
    draft = open_draft(actor=staff, event=band.event)
    return publish_lineup(
        actor=staff, event=band.event, seen_version=draft.version, seen_number=None
    )


def everything_is_there_once(lineup: Lineup) -> None:
    jobs = list(Job.objects.all())
    assert len(jobs) == 10 and all(j.done_at and not j.error for j in jobs)
    files = Artifact.objects.all()
    assert sorted(a.filename for a in files) == PRINTS
    assert all(a.file.read().startswith(b"%PDF") for a in files)
    states = Counter(Notice.objects.filter(lineup=lineup).values_list("state", flat=True))
    assert states == {NoticeState.SENT: 8}


def test_a_worker_that_lives_does_each_job_once(workers: Workers) -> None:
    lineup = publish()
    workers.start()
    wait_until(all_done, "all jobs done")
    everything_is_there_once(lineup)
    assert set(Job.objects.values_list("attempts", flat=True)) == {1}
    assert set(Counter(workers.sent()).values()) == {1} and len(workers.sent()) == 8


@pytest.mark.parametrize(
    ("point", "kind", "whom"),
    [
        ("claimed", "publishing.notice", "worker"),
        ("claimed", "publishing.print", "child"),
        ("prepared", "publishing.notice", "child"),
        ("prepared", "publishing.print", "worker"),
    ],
)
def test_a_killed_worker_loses_nothing(workers: Workers, point: str, kind: str, whom: str) -> None:
    workers.kill_at(point, kind, whom)
    lineup = publish()
    first = workers.start()
    wait_until(lambda: bool(workers.cut_off()), "the planned kill")
    if whom == "worker":
        assert first.wait(10) == -9
        workers.start()
    cut_off = Job.objects.get(key=workers.cut_off())
    assert cut_off.kind == kind and cut_off.done_at is None
    time.sleep(LEASE_SECONDS)
    workers.sweep()
    wait_until(all_done, "all jobs done")
    everything_is_there_once(lineup)
    attempts = dict(Job.objects.values_list("key", "attempts"))
    assert attempts.pop(cut_off.key) == 2, "the job that was cut off ran again"
    assert set(attempts.values()) == {1}, "no other did"
    sent = Counter(workers.sent())
    twice = 1 if (point, kind) == ("prepared", "publishing.notice") else 0
    assert len(sent) == 8 and sum(sent.values()) == 8 + twice, "never zero times"
