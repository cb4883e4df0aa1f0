"""The disk is full while prints are made: the job waits and says why, nothing half is kept, and
once there is room it is done."""

from __future__ import annotations

import resource
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from bandops.lib.outbox.models import Artifact, Job
from bandops.lib.outbox.running import run_job
from tests.architecture.world import World
from tests.factories import Cast
from tests.faults.acting import made, publish
from tests.faults.killing import TALLY

__all__ = ["made"]

pytestmark = pytest.mark.django_db(transaction=True)


@contextmanager
def full_after(size: int) -> Iterator[None]:
    """No file of this process grows beyond ``size`` bytes: writing fails as on a full disk."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def files(folder: Path) -> set[Path]:
    return {path for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize("size", [0, 10_000])
def test_prints_on_a_full_disk(
    made: tuple[World, Cast], settings: Any, tmp_path: Path, size: int
) -> None:
    settings.MEDIA_ROOT = tmp_path
    world, cast = made
    publish(world, cast.staff)()
    prints = list(
        Job.objects.filter(kind="publishing.print", done_at=None).values_list("pk", flat=True)
    )
    assert prints
    there = files(tmp_path)
    known = set(Artifact.objects.values_list("pk", flat=True))
    with full_after(size):
        for pk in prints:
            assert run_job(pk) is False
    TALLY.full += len(prints)
    waiting = Job.objects.filter(pk__in=prints)
    assert all(job.done_at is None and "File too large" in job.error for job in waiting)
    assert set(Artifact.objects.values_list("pk", flat=True)) == known
    assert files(tmp_path) == there, "nothing half is left"
    for pk in prints:
        assert run_job(pk) is True
    made_now = Artifact.objects.exclude(pk__in=known)
    assert made_now.count() == len(prints)
    assert len(files(tmp_path)) == len(there) + len(prints)
    assert all(a.file.read().startswith(b"%PDF") for a in made_now)
