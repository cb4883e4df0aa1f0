"""A published game, somebody out, and wishes for their spot."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from dataclasses import replace

import pytest
from django.utils import timezone

from drill.events.models import Event, Segment
from drill.gameday.services.desk import Desk, Wish, open_desk
from drill.gameday.services.fills import Outcome, fill
from drill.lineup import queries as lineup_queries
from drill.lineup.models import Backup, Lineup
from roster.people.models import Member
from tests.architecture.world import publish
from tests.factories import Band, Cast


def at(band: Band, segment: str, spot: str) -> str:
    lineup = lineup_queries.published(band.event)
    assert lineup is not None
    return name_at(lineup, segment, spot)


def name_at(lineup: Lineup, segment: str, spot: str) -> str:
    rank, number = spot.split("-")
    row = lineup.rows.get(segment__name=segment, spot__rank__label=rank, spot__number=int(number))
    return row.member.name if row.member else "nobody"


def wish(
    band: Band,
    out: str,
    into: str | None,
    seen: int = 1,
    key: uuid.UUID | None = None,
    mover: str | None = None,
    segments: Collection[Segment] = (),
) -> Wish:
    def named(name: str | None) -> Member | None:
        return band.members[name] if name else None

    moment = timezone.now()
    asked = frozenset(segment.pk for segment in segments)
    return Wish(
        band.members[out], named(into), named(mover), seen, key or uuid.uuid4(), moment, asked
    )


def open_wish(band: Band, spot: str, into: str, seen: int, *segments: Segment) -> Wish:
    """Somebody for an open spot."""
    asked = frozenset(segment.pk for segment in segments)
    made = Wish(None, band.members[into], None, seen, uuid.uuid4(), timezone.now(), asked)
    return replace(made, spot=band.spots[spot])


def number(band: Band) -> int:
    """Of the revision that is published."""
    lineup = lineup_queries.published(band.event)
    assert lineup is not None and lineup.number is not None
    return lineup.number


def ask(band: Band, cast: Cast, made: Wish) -> Outcome:
    return fill(actor=cast.staff, event=band.event, wish=made)


def opened(band: Band) -> Desk:
    """The desk as it is now."""
    desk = open_desk(Event.objects.select_related("season").get(pk=band.event.pk))
    assert desk is not None
    return desk


@pytest.fixture
def out(band: Band, cast: Cast) -> Band:
    """Revision 1 is published; Jon and Ida are backups for 1-3."""
    for order, name in enumerate(("Jon Pell", "Ida Voss"), 1):
        Backup.objects.create(spot=band.spots["1-3"], member=band.members[name], order=order)
    publish(band, cast.staff)
    return band
