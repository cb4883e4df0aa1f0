"""The import of instruments and parts: what it adds, changes, leaves as it is, and refuses."""

from __future__ import annotations

import pytest

from roster.people.models import Instrument, Part
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import actions, csv_file, plan_of
from tests.roster.people.imports_roster import Rows

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


@pytest.fixture
def instruments(band: Band, cast: Cast) -> Desk:
    return Desk(band, cast, "instruments", "instrument", "part", "code", "school instruments")


def test_parts_are_added_changed_and_left(instruments: Desk) -> None:
    rows: Rows = [
        ["Trumpet", "Trumpet", "trumpet", ""],
        ["Trumpet", "Second trumpet", "Trumpet 2", ""],
        ["Sousaphone", "Bass horn", "sousaphone", "7"],
        ["Flags", "", "", "20"],
    ]
    assert actions(instruments.plan(*rows)) == ["same", "add", "change", "add"]
    instruments.accept(*rows)
    assert set(Part.objects.values_list("code", "name", "instrument__name")) == {
        ("trumpet", "Trumpet", "Trumpet"),
        ("trumpet-2", "Second trumpet", "Trumpet"),
        ("clarinet", "Clarinet", "Clarinet"),
        ("sousaphone", "Bass horn", "Sousaphone"),
        ("flags", "Flags", "Flags"),
    }
    assert dict(Instrument.objects.values_list("name", "school_stock")) == {
        "Trumpet": None, "Clarinet": None, "Sousaphone": 7, "Flags": 20,
    }  # fmt: skip


def test_the_school_s_number_may_stand_in_one_row_of_an_instrument(instruments: Desk) -> None:
    instruments.accept(["Trumpet", "Trumpet", "trumpet", "9"], ["Trumpet", "Second", "second", ""])
    assert Instrument.objects.get(name="Trumpet").school_stock == 9


def test_every_fault_of_parts_is_named(instruments: Desk) -> None:
    assert instruments.faults(
        ["", "A", "a", ""],
        ["Drum", "B", "b", "many"],
        ["Drum", "C", "b", ""],
        ["Drum", "鼓", "", ""],
        ["D" * 61, "E", "e", ""],
        ["Drum", "F" * 61, "f", ""],
        ["Drum", "G", "g" * 41, ""],
        ["Horn", "H", "h", "3"],
        ["Horn", "I", "i", "4"],
        ["Horn", "J", "j", "-1"],
    ) == [
        (2, "instrument"),
        (3, "school instruments"),
        (4, "code"),
        (5, "code"),
        (6, "instrument"),
        (7, "part"),
        (8, "code"),
        (10, "school instruments"),
        (11, "school instruments"),
    ]


def test_a_missing_column_is_named(band: Band, cast: Cast) -> None:
    plan = plan_of("instruments", csv_file(["part"], ["x"]), band.season, cast.staff)
    assert [(f.row, f.column) for f in plan.faults] == [(0, "instrument")]
