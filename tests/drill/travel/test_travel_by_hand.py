"""The travel list by hand: who is added, taken off, and filled in."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Refused
from drill.events.enums import TravelRole
from drill.travel.services import travel
from roster.people.models import Member
from tests.drill.travel.travelling import MARCHERS, add, limit, make, out, post, remove, roles
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]


def test_adding_and_taking_off(band: Band, cast: Cast) -> None:
    limit(band, 9)
    make(band, cast)
    with pytest.raises(Refused, match="The list is full: 9 of 9"):
        add(band, cast, "Jon Pell")
    assert remove(band, cast, "Ida Voss") == ""
    for _ in range(2):
        add(band, cast, "Jon Pell")
    assert set(roles(band)) == MARCHERS | {"Jon Pell"}
    assert roles(band)["Jon Pell"] == TravelRole.BACKUP
    for _ in range(2):
        remove(band, cast, "Jon Pell")
    assert set(roles(band)) == MARCHERS


def test_who_cannot_come_is_not_added(band: Band, cast: Cast) -> None:
    limit(band, 9)
    make(band, cast)
    remove(band, cast, "Ida Voss")
    out(band, cast, "Jon Pell", category="health")
    with pytest.raises(Refused, match="Jon Pell is not available") as refusal:
        add(band, cast, "Jon Pell")
    assert "health" not in refusal.value.message
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(status="left")
    with pytest.raises(Refused, match="not active"):
        add(band, cast, "Kit Moss")
    band.event.must_travel.add(band.members["Jon Pell"])
    add(band, cast, "Jon Pell")
    assert roles(band)["Jon Pell"] == TravelRole.MUST


def test_who_must_travel_is_not_taken_off(band: Band, cast: Cast) -> None:
    band.event.must_travel.add(band.members["Kit Moss"])
    make(band, cast)
    with pytest.raises(Refused, match="Kit Moss must travel"):
        remove(band, cast, "Kit Moss")


def test_filling_keeps_places_for_marchers_who_are_missing(band: Band, cast: Cast) -> None:
    limit(band, 10)
    make(band, cast)
    for name in ("Ida Voss", "Kit Moss"):
        remove(band, cast, name)
    assert remove(band, cast, "Cai Ørnberg") == "1-3"
    added = travel.fill_list(actor=cast.staff, event=band.event)
    assert {str(m) for m in added} == {"Ida Voss", "Kit Moss"}
    with pytest.raises(Refused, match="No seats left"):
        travel.fill_list(actor=cast.staff, event=band.event)
    add(band, cast, "Cai Ørnberg")
    assert set(roles(band)) == MARCHERS | {"Ida Voss", "Kit Moss"}


def test_nothing_is_changed_before_there_is_a_list(band: Band, cast: Cast) -> None:
    for change in (
        lambda: add(band, cast, "Ida Voss"),
        lambda: remove(band, cast, "Ida Voss"),
        lambda: post(band, cast),
        lambda: travel.take_back(actor=cast.staff, event=band.event),
        lambda: travel.fill_list(actor=cast.staff, event=band.event),
    ):
        with pytest.raises(Refused, match="make one first"):
            change()
