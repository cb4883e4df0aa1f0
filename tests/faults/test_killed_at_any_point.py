"""A server or worker is killed before any statement of publishing, importing, marking, issuing:
what was begun is undone or done, never half, and sent again it is done once."""

from __future__ import annotations

import datetime
import time
from typing import Any

import pytest
from django.db import connection

from bandops.lib.outbox.models import Job
from tests.architecture.world import World
from tests.factories import Cast
from tests.faults.acting import ACTIONS, chosen, done_whole, jobs, judge, made, publish
from tests.faults.killing import (
    DIED,
    TALLY,
    copy_of,
    differing,
    run_in,
    state_of,
    wait_until_free,
)

__all__ = ["made"]

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("make", ACTIONS, ids=lambda make: make.__name__)
def test_an_action_cut_off_anywhere_is_done_once(made: tuple[World, Cast], make: Any) -> None:
    world, cast = made
    action = make(world, cast.staff)
    source = str(connection.settings_dict["NAME"])
    connection.close()
    wait_until_free(source)
    count, before, wanted = done_whole(source, action)
    for point in chosen(count, action.name):
        TALLY.points += 1
        with copy_of(source, f"{source}_point") as name:
            assert run_in(name, action, kill_before=point) == DIED
            TALLY.died += 1
            judge(name, action, f"{action.name} {point}", before, wanted)
    assert not TALLY.wrong, "\n".join(TALLY.wrong)


def test_a_worker_cut_off_anywhere_does_each_job_once(
    made: tuple[World, Cast], settings: Any
) -> None:
    """Prints and notices: after the lease is over the sweep hands them out again."""
    world, cast = made
    settings.JOB_LEASE = datetime.timedelta(milliseconds=1)
    action = publish(world, cast.staff)
    action()
    Job.objects.filter(kind="publishing.print").delete()  # slow to make, killed in tests/worker
    source = str(connection.settings_dict["NAME"])
    connection.close()
    wait_until_free(source)
    with copy_of(source, f"{source}_whole") as whole:
        count = int(run_in(whole, jobs))
        wanted = state_of(whole)
    for point in chosen(count, "jobs"):
        TALLY.points += 1
        with copy_of(source, f"{source}_point") as name:
            assert run_in(name, jobs, kill_before=point) == DIED
            TALLY.died += 1
            wait_until_free(name)
            time.sleep(0.01)
            for _ in range(3):
                run_in(name, jobs)
            rest = [d for d in differing(state_of(name), wanted) if not d.startswith("lib_job")]
            if rest:
                TALLY.wrong.append(f"jobs {point}: {rest}")
    assert not TALLY.wrong, "\n".join(TALLY.wrong)
