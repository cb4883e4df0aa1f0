"""Coordinates from the sheets bands pass around: every layout gives the same version."""

from __future__ import annotations

from typing import Any

import pytest

from drill.field.core.field import FIELD_TYPES
from drill.field.models import CustomField, DrillSettings
from drill.shows.models import Position, Show
from tests.drill.shows.coordinate_sheets import (
    BLOCKS,
    SHEETS,
    WIDE,
    S,
    Sheets,
    sets,
    sheets,
    stored,
)
from tests.lib.imports_help import upload, words, xlsx_file

__all__ = ["sheets"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
FRONT_HASH = FIELD_TYPES["60 ft"].front_hash
EXPECTED = {
    ("1", "1-1"): (-16, 28),
    ("1", "1-2"): (-12, 28),
    ("2", "1-1"): (-8, 28),
    ("2", "1-2"): (-6.5, 30),
}


@pytest.mark.parametrize("name", SHEETS)
def test_every_layout_gives_the_same_version(sheets: Sheets, name: str) -> None:
    sheets.accept(SHEETS[name])
    assert stored() == EXPECTED
    assert sets() == [("1", 0), ("2", 16)]
    assert Show.objects.filter(name="Tidewheel").count() == 1


@pytest.mark.parametrize("name", SHEETS)
def test_every_layout_is_read_from_a_workbook_too(sheets: Sheets, name: str) -> None:
    import csv
    import io

    rows = list(csv.reader(io.StringIO(SHEETS[name])))
    sheets.accept(xlsx_file(*rows))
    assert stored() == EXPECTED


def test_the_preview_says_which_layout_it_saw(sheets: Sheets, signed_in: Any) -> None:
    client = signed_in(sheets.cast.staff)
    page = words(upload(client, "coordinates", BLOCKS.encode()))
    assert "Read as one block per dot: 2 blocks." in page
    assert "“Tidewheel” was read as the name of the show." in page
    page = words(upload(client, "coordinates", WIDE.encode()))
    assert "Read as one row per dot, with columns for 2 sets." in page
    assert "Columns left out: part." in page


def test_words_are_read_on_the_shows_field_and_as_the_season_writes(sheets: Sheets) -> None:
    season = sheets.band.season
    Show.objects.filter(name="Tidewheel").update(field_type="53 ft 4 in")
    DrillSettings.objects.create(season=season, seen_from="field")
    sheet = "show,set,dot,across,depth\nTidewheel,1,1-1,2 left of the 50,on the front hash\n"
    sheets.accept(sheet)
    position = Position.objects.get()
    assert position.x == 2 * S, "left as the field sees it is the press box's right"
    assert position.y == FIELD_TYPES["53 ft 4 in"].front_hash


def test_a_file_may_name_its_field(sheets: Sheets) -> None:
    CustomField.objects.create(
        season=sheets.band.season, name="Old yard", front_hash=20 * S, back_hash=60 * S
    )
    row = "{},Old yard,1,1-1,on the 50,on the back hash\n"
    head = "show,field,set,dot,x,y\n"
    sheets.accept(head + row.format("Sixty Lamps Afloat"))
    assert Show.objects.get(name="Sixty Lamps Afloat").field_type == "Old yard"
    assert Position.objects.get().y == 60 * S
    plan = sheets.plan(head + row.format("Tidewheel"))
    assert "is written for 60 ft: words are read on Old yard" in plan.warnings[0].message
    assert sheets.faults(head + row.format("Tidewheel").replace("Old", "New")) == [(2, "field")]


def test_numbers_and_words_stand_in_one_column(sheets: Sheets) -> None:
    sheets.accept(
        "show,set,dot,x,y\n"
        "Tidewheel,1,1-1,-16,on the front hash\n"
        'Tidewheel,1,1-2,"side 2, 3,5 outside the 40","28,5"\n'.replace("3,5", "3.5")
    )
    assert stored() == {("1", "1-1"): (-16, FRONT_HASH / S), ("1", "1-2"): (19.5, 28.5)}


def test_the_headings_of_older_sheets_are_read(sheets: Sheets) -> None:
    head = "show,set,counts,between,place,x,y\n"
    sheets.accept(head + "Tidewheel,1,0,,1-1,-16,28\nTidewheel,1A,8,yes,1-1,-8,28\n")
    assert stored() == {("1", "1-1"): (-16, 28), ("1A", "1-1"): (-8, 28)}
    assert Show.objects.get(name="Tidewheel").versions.get().sets.get(label="1A").is_subset
    sheets.accept("Tidewheel\nPlace 1-1\nset,x,y\n1,-12,28\n1A,-4,28\n")
    assert stored() == {("1", "1-1"): (-12, 28), ("1A", "1-1"): (-4, 28)}
