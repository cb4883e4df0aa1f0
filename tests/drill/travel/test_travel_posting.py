"""The travel list is posted: what must be in order first, and what stays of it."""

from __future__ import annotations

import pytest

from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from drill.events import queries as event_queries
from drill.events.enums import TravelState
from drill.events.models import TravelList
from drill.lineup.core.problem import Origin
from drill.lineup.services import orders
from drill.travel.services import travel
from tests.drill.travel.travelling import (
    MARCHERS,
    limit,
    make,
    out,
    post,
    publish,
    remove,
    roles,
    solved,
)
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]


def test_a_performing_spot_is_never_dropped_silently(band: Band, cast: Cast) -> None:
    """A limit below the marchers: refused with the names until the lineup itself is changed."""
    publish(band, cast)
    limit(band, 6)
    make(band, cast)
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == (
        "8 people are 2 more than the limit of 6. "
        "Take backups off, or change the lineup so fewer march.",
    )
    remove(band, cast, "Dee Quill")
    remove(band, cast, "Gus Tamm")
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    for start, line in zip(
        ("1-4: Dee Quill marches it", "2-2: Gus Tamm marches it"),
        refusal.value.details,
        strict=True,
    ):
        assert line.startswith(start) and "leave the spot open" in line
    assert event_queries.travellers(band.event) is None
    for spot in ("1-4", "2-2"):
        orders.leave_open(actor=cast.staff, event=band.event, segment=None, spot=band.spots[spot])
    post(band, cast)
    assert set(roles(band)) == MARCHERS - {"Dee Quill", "Gus Tamm"}
    march = solved(band)
    assert march["1-4"] == march["2-2"] == Origin.LEFT_OPEN
    assert set(march.values()) - {Origin.LEFT_OPEN} == MARCHERS - {"Dee Quill", "Gus Tamm"}


def test_must_travel_and_pinned_people_belong_on_it(band: Band, cast: Cast) -> None:
    publish(band, cast)
    make(band, cast)
    remove(band, cast, "Ida Voss")
    remove(band, cast, "Kit Moss")
    band.event.must_travel.add(band.members["Kit Moss"])
    orders.pin_member(
        actor=cast.staff,
        event=band.event,
        segment=band.halftime,
        spot=band.spots["1-1"],
        member=band.members["Ida Voss"],
    )
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == (
        "Kit Moss must travel and is not on the list.",
        "Ida Voss is pinned to 1-1 and is not on the list.",
    )


def test_an_empty_list_is_not_posted(band: Band, cast: Cast) -> None:
    band.event.segments.all().delete()
    make(band, cast)
    with pytest.raises(Refused) as refusal:
        post(band, cast)
    assert refusal.value.details == ("Nobody is on it.",)


def test_a_posted_list_loses_no_marcher(band: Band, cast: Cast) -> None:
    publish(band, cast)
    make(band, cast)
    posted = post(band, cast)
    with pytest.raises(Refused, match="Cai Ørnberg marches 1-3"):
        remove(band, cast, "Cai Ørnberg")
    with pytest.raises(Refused, match="take it back"):
        make(band, cast)
    out(band, cast, "Cai Ørnberg")
    remove(band, cast, "Cai Ørnberg")
    assert "Cai Ørnberg" not in roles(band), "whoever is out marches no spot any more"
    again = TravelList.objects.get(event=band.event)
    assert again.posted_at is not None and posted.posted_at is not None
    assert again.posted_at > posted.posted_at, "the list carries the time of its last change"


def test_posting_and_taking_back_twice_are_one(band: Band, cast: Cast) -> None:
    make(band, cast)
    first = post(band, cast).posted_at
    before = AuditEntry.objects.count()
    assert post(band, cast).posted_at == first
    assert AuditEntry.objects.count() == before
    travel.take_back(actor=cast.staff, event=band.event)
    before = AuditEntry.objects.count()
    assert travel.take_back(actor=cast.staff, event=band.event).state == TravelState.DRAFT
    assert AuditEntry.objects.count() == before
