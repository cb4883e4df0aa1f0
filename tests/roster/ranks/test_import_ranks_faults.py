"""The import of ranks and spots: every fault is named where it stands."""

from __future__ import annotations

import datetime

import pytest

from roster.people.models import Person
from roster.ranks.models import Holding
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import csv_file, faults, plan_of
from tests.roster.people.imports_roster import ranks, running, spot_row

__all__ = ["ranks"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def test_every_fault_of_spots_is_named(ranks: Desk) -> None:
    band = ranks.band
    band.member("Two Same", "trumpet")
    Person.objects.filter(legal_name="Eno Farrow").update(used_name="Two Same")
    assert ranks.faults(
        spot_row("11-May", "trumpet"),
        spot_row("2026-05-11", "trumpet"),
        spot_row("45422", "trumpet"),
        spot_row("", "trumpet"),
        spot_row("1-0", "trumpet"),
        spot_row("12345", "trumpet", rank="1"),
        spot_row("²", "trumpet", rank="1"),
        spot_row("2-4", "trumpet", rank="1"),
        spot_row("9" * 21 + "-1", "trumpet"),
        spot_row("+-1", "trumpet"),
        spot_row("4-1", "kazoo"),
        spot_row("4-2", "trumpet", weight=6),
        spot_row("4-3", "trumpet", weight="heavy"),
        spot_row("4-4", "trumpet", experience="some"),
        spot_row("4-5", "trumpet", "Nobody Here"),
        spot_row("4-6", "trumpet", "Two Same"),
        spot_row("4-7", "trumpet", "4417"),
        spot_row("4-8", "trumpet", "Dee Quill"),
        spot_row("4-9", "trumpet", "Kit Moss"),
        spot_row("4-10", "trumpet", "Kit Moss"),
        spot_row("4-9", "trumpet"),
        spot_row("4-11", "trumpet", "Ida Voss", "boss"),
        spot_row("4-12", "trumpet", "", "leader"),
        spot_row("4-13", "trumpet", "Jon Pell", "leader"),
        spot_row("4-14", "trumpet", "Gus Tamm", "leader"),
    ) == [
        *((row, "spot") for row in range(2, 12)),
        (12, "part"),
        (13, "weight"),
        (14, "weight"),
        (15, "needs experience"),
        (16, "holder"),
        (17, "holder"),
        (18, "holder"),
        (19, "holder"),
        (21, "holder"),
        (22, "spot"),
        (23, "role"),
        (24, "role"),
        (25, "role"),
        (26, "role"),
    ]


def test_a_spot_s_new_part_must_be_played_by_who_holds_it(ranks: Desk) -> None:
    assert ranks.faults(spot_row("1-1", "clarinet", "Ana Núñez")) == [(2, "holder")]
    content = csv_file(["spot", "part"], ["1-1", "clarinet"])
    plan = plan_of("ranks", content, ranks.band.season, ranks.cast.staff)
    assert faults(plan) == [(2, "part")]


def test_a_holding_that_ends_later_is_named_before_anything_is_done(ranks: Desk) -> None:
    today = running(ranks.band)
    later = today + datetime.timedelta(days=9)
    Holding.objects.filter(spot=ranks.band.spots["1-3"]).update(ends=later)
    assert ranks.faults(
        spot_row("1-3", "trumpet", "Ida Voss"), spot_row("1-7", "trumpet", "Cai Ørnberg")
    ) == [(2, "holder"), (3, "holder")]
