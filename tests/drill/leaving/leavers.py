"""The small band published, and members who stop in every way there is."""

from __future__ import annotations

import datetime

from drill.leaving.services.releasing import release_member
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Lineup, LineupRow
from roster.people.enums import MemberStatus
from roster.people.services import people
from tests.factories import Band, Cast


def on_leave(band: Band, cast: Cast, *names: str) -> list[str]:
    return people.set_status(
        actor=cast.staff,
        season=band.season,
        members=[band.members[name] for name in names],
        status=MemberStatus.ON_LEAVE,
    )


def back(band: Band, cast: Cast, *names: str) -> None:
    people.set_status(
        actor=cast.staff,
        season=band.season,
        members=[band.members[name] for name in names],
        status=MemberStatus.ACTIVE,
    )


def released(band: Band, cast: Cast, name: str) -> list[str]:
    return release_member(actor=cast.staff, member=band.members[name], on=band.season.starts)


def stands(band: Band, cast: Cast, name: str, **values: object) -> list[str]:
    """Clearance or eligibility changes."""
    return people.change_member(
        actor=cast.staff, member=band.members[name], person_values={}, values=values
    )


def newest(band: Band) -> Lineup:
    found = lineup_queries.published(band.event)
    assert found is not None
    return found


def seats_of(lineup: Lineup, name: str) -> list[str]:
    """'Halftime 1-3' for every seat of a member."""
    rows = LineupRow.objects.filter(lineup=lineup, member__person__legal_name=name)
    return [f"{r.segment} {r.spot}" for r in rows.select_related("segment", "spot__rank")]


def day_before(day: datetime.date) -> datetime.date:
    return day - datetime.timedelta(1)
