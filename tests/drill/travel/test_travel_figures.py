"""What the travel list's page says of parts, people and spots."""

from __future__ import annotations

import pytest

from bandops.lib.keys import key
from drill.absences.enums import AbsenceKind
from drill.events.enums import TravelRole
from drill.lineup.services import drafts, lineups
from drill.travel.services import marching
from tests.drill.travel.travelling import limit, make, out, publish, sheet
from tests.factories import Band, Cast

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("rows are locked and counted")]


def test_figures_parts_and_people(band: Band, cast: Cast) -> None:
    limit(band, 10)
    publish(band, cast)
    make(band, cast)
    laid_out = sheet(band)
    assert (laid_out.marchers, laid_out.backups, laid_out.must, laid_out.left) == (8, 2, 0, 0)
    parts = {p.name: p for p in laid_out.parts}
    trumpet, brass = parts["Trumpet"], parts["Sousaphone"]
    assert (trumpet.spots, trumpet.marchers, trumpet.backups) == (5, 5, 2)
    assert (brass.chance, brass.reserve) == ("5%", None)
    assert (str(trumpet.reserve), trumpet.why) == ("Jon Pell", "alternate 2")
    backups = laid_out.travellers[TravelRole.BACKUP]
    assert [x.member.name for x in backups] == ["Ida Voss", "Kit Moss"]
    # Five marchers and two backups, each out with 5%: no more than 0.3%; one backup: 3%.
    assert {x.change for x in backups} == {"Trumpet from under 1% to 3%"}
    hal = next(x for x in laid_out.lines if x.member.name == "Hal Brook")
    assert (hal.spots, hal.parts, str(hal.rank)) == ("2-3", "Sousaphone", "Rank 2")
    weaker = {x.member.name: x.change for x in laid_out.travellers[TravelRole.MARCHES]}
    assert weaker["Hal Brook"] == "Sousaphone from 5% to 100%"
    assert [x.member.name for x in laid_out.at_home] == ["Jon Pell"]
    assert laid_out.at_home[0].ready == "alternate 2 of Rank 1"


def test_a_doubtful_marcher_counts_with_their_own_chance(band: Band, cast: Cast) -> None:
    make(band, cast)
    out(band, cast, "Hal Brook", kind=AbsenceKind.DOUBTFUL, chance="0.30")
    assert {p.name: p.chance for p in sheet(band).parts}["Sousaphone"] == "30%"


def test_spots_name_the_segment_when_it_is_not_every_one(band: Band, cast: Cast) -> None:
    draft = drafts.open_draft(actor=cast.staff, event=band.event)
    lineups.place_by_hand(
        actor=cast.staff,
        event=band.event,
        seen_version=draft.version,
        segment=band.halftime,
        spot=band.spots["1-3"],
        member=band.members["Ida Voss"],
    )
    now = marching.marching(band.event)
    where = {
        n: now.where(key(band.members[n].pk)) for n in ("Cai Ørnberg", "Ida Voss", "Bo Larkspur")
    }
    assert where == {
        "Cai Ørnberg": "1-3 (Pregame)",
        "Ida Voss": "1-3 (Halftime)",
        "Bo Larkspur": "1-2",
    }
