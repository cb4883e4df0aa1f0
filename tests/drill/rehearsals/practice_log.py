"""A rehearsal of the small band and its practice log."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from typing import Any

import pytest

from drill.events.models import Event
from drill.rehearsals.models import PracticeEntry
from drill.rehearsals.services.practice import log_practice, sets_of, sets_practised
from tests.drill.rehearsals.rehearsing import add_sets, clock, make_rehearsal, tidewheel
from tests.factories import Band, Cast


@pytest.fixture
def rehearsal(band: Band) -> Iterator[Event]:
    """The evening of the rehearsal; the show has four sets, one of them added between two."""
    add_sets(tidewheel(band), "1", "2", "2A", "3")
    event = make_rehearsal(band)
    with clock(19):
        yield event


def log(event: Event, band: Band, cast: Cast, name: str, spot: str, **more: Any) -> PracticeEntry:
    """``first_set`` and ``last_set`` are orders in the version in use."""
    values = {"first_set": None, "last_set": None, "key": uuid.uuid4(), "noted_at": None, **more}
    show = tidewheel(band).pk
    in_use = {one.order: one.pk for one in sets_of({show}).get(show, [])}
    for end in ("first_set", "last_set"):
        if values[end] is not None:
            values[end] = in_use.get(values[end], 10**6)
    return log_practice(
        actor=values.pop("actor", cast.leader),
        event=event,
        member=band.members[name],
        spot=band.spots[spot],
        show=tidewheel(band),
        **values,
    )


def practised(band: Band, name: str, spot: str) -> int | None:
    key = band.members[name].pk, band.spots[spot].pk, tidewheel(band).pk
    return sets_practised(band.season).get(key)
