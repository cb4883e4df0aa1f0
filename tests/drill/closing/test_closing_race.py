"""Two people change one show at once, for two events: both changes are kept."""

from __future__ import annotations

import contextlib
import datetime
import threading
from typing import Any

import pytest
from django.db import connection

from drill.closing.services import closed, closing, saving
from drill.events.models import Event
from drill.shows.models import Show, ShowVersion
from tests.drill.closing.closing_up import show
from tests.factories import Band, Cast

__all__ = ["show"]

pytestmark = [
    pytest.mark.postgres("two transactions wait for one lock"),
    pytest.mark.django_db(transaction=True),
]


def test_two_events_cut_one_show_at_once(
    band: Band, show: Show, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Versions are numbered one after another: each waits until the other has its number."""
    other = Event.objects.create(
        season=band.season,
        name="A week later",
        date=band.event.date + datetime.timedelta(days=7),
        time_zone="America/Chicago",
    )
    other.segments.create(
        order=1,
        name="Halftime",
        kind="halftime",
        show=show,
        starts=datetime.time(14),
        ends=datetime.time(14, 20),
    )
    both_here, save = threading.Barrier(2), saving.save_version
    failed: list[BaseException] = []

    def save_together(
        event: Event, changed: closed.Changed, name: str, change: dict[str, Any]
    ) -> ShowVersion:
        """Whoever comes first gives the other a chance to be here too."""
        with contextlib.suppress(threading.BrokenBarrierError):
            both_here.wait(timeout=1)
        return save(event, changed, name, change)

    def cut(event: Event) -> None:
        try:
            closing.cut_show(
                actor=cast.staff, event=event, show=show, first="2", last="2", counts=16
            )
        except BaseException as error:
            failed.append(error)
        finally:
            connection.close()

    monkeypatch.setattr(closing, "save_version", save_together)
    threads = [threading.Thread(target=cut, args=(event,)) for event in (band.event, other)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert not failed
    own = ShowVersion.objects.filter(show=show, is_variant=True)
    assert {version.at_event.event for version in own} == {band.event, other}
