"""Whatever staff do in whatever order, nobody who stopped stays published for an event to come."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.db import transaction
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from bandops.lib.errors import Refused
from drill.lineup import queries as lineup_queries
from drill.lineup.models import LineupRow
from drill.lineup.services.drafts import open_draft
from drill.lineup.services.lineups import take_proposal
from drill.publishing.services.publishing import publish_lineup
from roster.people.enums import MemberStatus
from roster.people.models import Member
from tests.drill.leaving.leavers import back, on_leave, released, stands
from tests.examples import examples
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("many revisions under one lock"),
]
NAMES = ("Cai Ørnberg", "Hal Brook", "Ida Voss", "Ana Núñez", "Kit Moss")
Step = Callable[[Band, Cast, str], object]


def draft(band: Band, cast: Cast, _: str) -> None:
    open_draft(actor=cast.staff, event=band.event)


def publish(band: Band, cast: Cast, _: str) -> None:
    kept, last = open_draft(actor=cast.staff, event=band.event), published_number(band)
    publish_lineup(actor=cast.staff, event=band.event, seen_version=kept.version, seen_number=last)


def solve(band: Band, cast: Cast, _: str) -> None:
    kept = open_draft(actor=cast.staff, event=band.event)
    take_proposal(actor=cast.staff, event=band.event, seen_version=kept.version)


def not_cleared(band: Band, cast: Cast, name: str) -> None:
    stands(band, cast, name, cleared="no")


def cleared(band: Band, cast: Cast, name: str) -> None:
    stands(band, cast, name, cleared="yes")


STEPS: list[Step] = [draft, publish, solve, released, on_leave, back, not_cleared, cleared]


def published_number(band: Band) -> int | None:
    last = lineup_queries.published(band.event)
    return last.number if last else None


def stopped_but_named(band: Band) -> list[str]:
    """Members in the newest revision or the draft who may not march the event."""
    lineups = [lineup_queries.published(band.event), lineup_queries.draft(band.event)]
    rows = LineupRow.objects.filter(lineup__in=[x for x in lineups if x], member__isnull=False)
    members = Member.objects.filter(pk__in=rows.values("member"))
    return [
        m.name
        for m in members
        if m.status != MemberStatus.ACTIVE or not m.may_march_on(band.event.date)
    ]


@examples(25, 300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(STEPS), st.sampled_from(NAMES)), max_size=10))
def test_nobody_who_stopped_is_published(
    band: Band, cast: Cast, steps: list[tuple[Step, str]]
) -> None:
    with transaction.atomic():
        publish(band, cast, "")
        for step, name in steps:
            try:
                step(band, cast, name)
            except Refused:
                continue
            assert stopped_but_named(band) == [], step.__name__
        transaction.set_rollback(True)
