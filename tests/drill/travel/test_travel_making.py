"""The travel list is made: who is on it before anybody says more."""

from __future__ import annotations

import pytest

from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from drill.events.enums import TravelRole
from drill.events.models import TravelList
from drill.events.services import events as orders
from drill.lineup.models import Backup
from drill.lineup.services import drafts
from drill.travel.services import marching
from tests.drill.travel.travelling import MARCHERS, limit, make, out, publish, roles, sheet
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]


def test_marchers_and_must_travel_come_first_then_backups_up_to_the_limit(
    band: Band, cast: Cast
) -> None:
    limit(band, 11)
    major = band.member("Max Baton", "clarinet")
    band.event.must_travel.set([major, band.members["Ana Núñez"]])
    make(band, cast)
    found = roles(band)
    assert {n for n, r in found.items() if r == TravelRole.MARCHES} == MARCHERS
    assert {n for n, r in found.items() if r == TravelRole.MUST} == {"Max Baton"}
    backups = {n for n, r in found.items() if r == TravelRole.BACKUP}
    assert backups == {"Ida Voss", "Kit Moss"}, "first alternates before second ones"


def test_named_backups_go_before_standing(band: Band, cast: Cast) -> None:
    limit(band, 9)
    Backup.objects.create(spot=band.spots["2-1"], member=band.members["Jon Pell"], order=1)
    make(band, cast)
    assert set(roles(band)) - MARCHERS == {"Jon Pell"}


def test_without_a_limit_everybody_who_could_march_goes(band: Band, cast: Cast) -> None:
    make(band, cast)
    assert set(roles(band)) == MARCHERS | {"Ida Voss", "Jon Pell", "Kit Moss"}


@pytest.mark.parametrize("source", ["draft", "published", "proposal"])
def test_the_list_is_of_the_lineup_there_is(band: Band, cast: Cast, source: str) -> None:
    out(band, cast, "Cai Ørnberg")
    if source != "proposal":
        drafts.open_draft(actor=cast.staff, event=band.event)
    if source == "published":
        publish(band, cast)
    limit(band, 8)
    make(band, cast)
    assert roles(band) == dict.fromkeys(MARCHERS - {"Cai Ørnberg"} | {"Ida Voss"}, "marches")
    lineup = marching.marching(band.event).lineup
    assert (lineup is None) == (source == "proposal")
    assert lineup is None or (lineup.number is None) == (source == "draft")


def test_somebody_who_is_out_since_is_no_marcher(band: Band, cast: Cast) -> None:
    publish(band, cast)
    out(band, cast, "Hal Brook")
    make(band, cast)
    assert "Hal Brook" not in roles(band)
    assert sheet(band).holes == 1


def test_a_list_for_which_there_can_be_no_lineup_is_refused(band: Band, cast: Cast) -> None:
    limit(band, 2)
    two = [band.members[name] for name in ("Ana Núñez", "Bo Larkspur")]
    orders.set_must_travel(actor=cast.staff, event=band.event, members=two)
    limit(band, 1)
    with pytest.raises(Refused, match="Who marches"):
        make(band, cast)
    assert not TravelList.objects.exists()


def test_making_it_twice_changes_nothing(band: Band, cast: Cast) -> None:
    limit(band, 10)
    make(band, cast)
    before = AuditEntry.objects.count()
    make(band, cast)
    assert AuditEntry.objects.count() == before
    assert len(roles(band)) == 10
