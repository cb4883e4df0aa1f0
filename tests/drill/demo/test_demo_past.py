"""The demo's season so far is made as it would have been, each performance on its days."""

from __future__ import annotations

import datetime

import pytest
import time_machine

from bandops.lib.outbox.models import Job
from drill.demo.services.past import make_past
from drill.lineup import queries as lineup_queries
from drill.record.models import MarchingRecord
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def test_each_past_performance_is_published_before_and_confirmed_after(
    band: Band, cast: Cast
) -> None:
    event = band.event
    with time_machine.travel(event.date + datetime.timedelta(days=3), tick=False):
        assert make_past(cast.director, band.season) == 1
    lineup = lineup_queries.published(event)
    record = MarchingRecord.objects.get(event=event)
    assert lineup is not None and lineup.published_at is not None
    assert lineup.published_at.astimezone(band.season.zone).date() < event.date
    assert record.confirmed_at.astimezone(band.season.zone).date() > event.date
    assert (
        record.entries.filter(outcome="marched").count() == lineup.rows.exclude(member=None).count()
    )
    assert not Job.objects.filter(kind="publishing.print").exists()


def test_what_is_to_come_is_left_to_the_week(band: Band, cast: Cast) -> None:
    assert make_past(cast.director, band.season) == 0
    assert lineup_queries.published(band.event) is None
