"""The broker dies with all that waits in it: the sweep hands the jobs out again, and each is done
once."""

from __future__ import annotations

import os
import time
from collections import Counter
from collections.abc import Iterator

import pytest
import redis

from bandops import doctor
from bandops.lib.outbox.models import Job
from tests.faults.killing import TALLY
from tests.servers import Redis, killable_redis, server_folder
from tests.worker.conftest import Workers, all_done, shared_database, wait_until, workers
from tests.worker.test_killed_workers import LEASE_SECONDS, everything_is_there_once, publish

__all__ = ["shared_database", "workers"]

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.worker]


@pytest.fixture
def broker() -> Iterator[Redis]:
    """A broker of this test's own, where the machine has what one takes."""
    if not os.environ.get("REDIS_URL") or doctor.PDF in doctor.lacks():
        pytest.skip("no Redis, or no Pango for the prints: run `python -m tests.services`")
    with server_folder() as folder, killable_redis(folder) as server:
        yield server


@pytest.fixture
def redis_url(broker: Redis) -> str:
    return broker.url


def waiting_in(broker: Redis, workers: Workers) -> int:
    """How many messages wait for a worker."""
    with redis.Redis.from_url(broker.url) as line:
        return int(line.llen(workers.variables["QUEUE"]))


def _again(broker: Redis) -> None:
    broker.kill()
    TALLY.brokers += 1
    broker.start()


def test_what_waited_in_a_dead_broker_is_done(workers: Workers, broker: Redis) -> None:
    lineup = publish()
    assert waiting_in(broker, workers) == 10 == Job.objects.filter(done_at=None).count()
    _again(broker)
    workers.start()
    workers.sweep()
    wait_until(all_done, "all jobs done")
    everything_is_there_once(lineup)
    assert set(Counter(workers.sent()).values()) == {1}


def test_a_broker_dies_under_a_worker(workers: Workers, broker: Redis) -> None:
    workers.kill_at("claimed", "publishing.print", "child")
    lineup = publish()
    workers.start()
    wait_until(lambda: bool(workers.cut_off()), "a job is under way")
    _again(broker)
    time.sleep(LEASE_SECONDS)
    for _ in range(5):  # a worker that lost its broker comes back in its own time
        workers.sweep()
        time.sleep(2)
        if all_done():
            break
    wait_until(all_done, "all jobs done")
    everything_is_there_once(lineup)
    sent = Counter(workers.sent())
    assert len(sent) == 8 and set(sent.values()) == {1}, "nobody is left out or told twice"
