"""Coordinates from the sheets bands pass around: three layouts, numbers and words, every slip."""

from __future__ import annotations

from pathlib import Path as File
from typing import Any

import pytest
from django.urls import reverse
from hypothesis import given
from hypothesis import strategies as st

from drill.core.field import FIELD_TYPES, UNITS_PER_STEP
from drill.imports.set_lines import in_order
from drill.models import CustomField, DrillSet, DrillSettings, Path, Place, Position, Show
from tests.factories import Band, Cast
from tests.lib.imports_help import (
    accept_file,
    all_same,
    csv_file,
    plan_of,
    upload,
    words,
    xlsx_file,
)
from tests.roster.test_import_kinds import changes

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
SAMPLES = File(__file__).parents[2] / "fixtures" / "samples"
FRONT_HASH = FIELD_TYPES["60 ft"].front_hash
S = UNITS_PER_STEP


class Sheets:
    """Files of coordinates for the small band, by staff."""

    def __init__(self, band: Band, cast: Cast) -> None:
        self.band, self.cast = band, cast

    def plan(self, content: str | bytes) -> Any:
        raw = content.encode() if isinstance(content, str) else content
        return plan_of("coordinates", raw, self.band.season, self.cast.staff)

    def accept(self, content: str | bytes) -> None:
        plan = self.plan(content)
        assert not plan.faults, plan.faults
        raw = content.encode() if isinstance(content, str) else content
        accept_file("coordinates", raw, self.band.season, self.cast.staff)
        assert all_same(self.plan(content)), changes(self.plan(content))

    def faults(self, content: str | bytes) -> list[tuple[int, str]]:
        return [(f.row, f.column) for f in self.plan(content).faults]

    def warnings(self, content: str | bytes) -> list[tuple[int, str]]:
        return [(f.row, f.column) for f in self.plan(content).warnings]


@pytest.fixture
def sheets(band: Band, cast: Cast) -> Sheets:
    return Sheets(band, cast)


def stored(version: str = "1") -> dict[tuple[str, str], tuple[float, float]]:
    """(set, place) -> steps."""
    rows = Position.objects.filter(set__version__label=version)
    return {(p.set.label, p.place.label): (p.x / S, p.y / S) for p in rows.select_related()}


def sets(version: str = "1") -> list[tuple[str, int]]:
    return list(
        DrillSet.objects.filter(version__label=version)
        .order_by("order")
        .values_list("label", "counts")
    )


EXPECTED = {
    ("1", "1-1"): (-16, 28),
    ("1", "1-2"): (-12, 28),
    ("2", "1-1"): (-8, 28),
    ("2", "1-2"): (-6.5, 30),
}
LONG = """show,set,counts,place,x,y
Tidewheel,1,0,1-1,-16,28
Tidewheel,1,0,1-2,-12,28
Tidewheel,2,16,1-1,-8,28
Tidewheel,2,16,1-2,-6.5,30
"""
LONG_BELOW_LINES = """Show: Tidewheel
Version: 1

set,counts,spot,across,depth
1,0,1-1,-16,28
1,0,1-2,-12,28
2,16,1-1,-8,28
2,16,1-2,-6.5,30
Total,32,,,
"""
BLOCKS = """Tidewheel
Place 1-1
set,counts,side to side,front to back
1,0,-16,28
2,16,-8,28
Total,16
Place 1-2
set,counts,side to side,front to back
1,0,-12,28
2,16,-6.5,30
"""
BLOCKS_WITH_ONE_HEAD = """Show,Tidewheel
1-1
set,running counts,across,depth
1,0,-16,28
2,16,-8,28

1-2
1,0,-12,28
2,16,-6.5,30
"""
BLOCKS_ON_THEIR_SIDE = """Tidewheel
Spot: 1-1
set,1,2
counts,0,16
side to side,-16,-8
front to back,28,28
Spot: 1-2
set,1,2
counts,0,16
side to side,-12,-6.5
front to back,28,30
"""
WIDE = """Tidewheel
place,part,set 1 x,set 1 y,set 2 x,set 2 y
counts,,0,,16,
1-1,trumpet,-16,28,-8,28
1-2,trumpet,-12,28,-6.5,30
"""
WIDE_OF_TWO_LINES = """Tidewheel
,Set 1,,Set 2 (16 counts),
place,x,y,x,y
1-1,-16,28,-8,28
1-2,-12,28,-6.5,30
"""
WIDE_LABELS_FIRST = """show,place,Set 1,,Set 2 (16),
,,across,depth,across,depth
Tidewheel,1-1,-16,28,-8,28
Tidewheel,1-2,-12,28,-6.5,30
"""
WIDE_BY_SETS = """Tidewheel
set,total,1-1 x,1-1 y,1-2 x,1-2 y
1,0,-16,28,-12,28
2,16,-8,28,-6.5,30
"""
WIDE_IN_WORDS = """Tidewheel
place,Set 1,Set 2
counts,0,16
1-1,"side 1, on the 40, 4 in front of the front hash","S1: on the 45; 4 in front of front hash"
1-2,"side 1, 4 inside the 40, 4 in front of the front hash","S1 1.5 in 45, 2 in front FH"
"""
SHEETS = {
    name: text for name, text in globals().items() if name.startswith(("LONG", "BLOCKS", "WIDE"))
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
    assert "Read as one block a place: 2 blocks." in page
    assert "“Tidewheel” is taken for the name of the show." in page
    page = words(upload(client, "coordinates", WIDE.encode()))
    assert "Read as one row a place, with columns for 2 sets." in page
    assert "Columns left out: part." in page


def test_words_are_read_on_the_shows_field_and_as_the_season_writes(sheets: Sheets) -> None:
    season = sheets.band.season
    Show.objects.filter(name="Tidewheel").update(field_type="53 ft 4 in")
    DrillSettings.objects.create(season=season, seen_from="field")
    sheet = "show,set,place,across,depth\nTidewheel,1,1-1,2 left of the 50,on the front hash\n"
    sheets.accept(sheet)
    position = Position.objects.get()
    assert position.x == 2 * S, "left as the field sees it is the press box's right"
    assert position.y == FIELD_TYPES["53 ft 4 in"].front_hash


def test_a_file_may_name_its_field(sheets: Sheets) -> None:
    CustomField.objects.create(
        season=sheets.band.season, name="Old yard", front_hash=20 * S, back_hash=60 * S
    )
    row = "{},Old yard,1,1-1,on the 50,on the back hash\n"
    head = "show,field,set,place,x,y\n"
    sheets.accept(head + row.format("Paper Lanterns"))
    assert Show.objects.get(name="Paper Lanterns").field_type == "Old yard"
    assert Position.objects.get().y == 60 * S
    plan = sheets.plan(head + row.format("Tidewheel"))
    assert "is written for 60 ft: words are read on Old yard" in plan.warnings[0].message
    assert sheets.faults(head + row.format("Tidewheel").replace("Old", "New")) == [(2, "field")]


def test_numbers_and_words_stand_in_one_column(sheets: Sheets) -> None:
    sheets.accept(
        "show,set,place,x,y\n"
        "Tidewheel,1,1-1,-16,on the front hash\n"
        'Tidewheel,1,1-2,"side 2, 3,5 outside the 40","28,5"\n'.replace("3,5", "3.5")
    )
    assert stored() == {("1", "1-1"): (-16, FRONT_HASH / S), ("1", "1-2"): (19.5, 28.5)}


# Counts and totals


def test_counts_come_from_running_totals(sheets: Sheets) -> None:
    head = "show,set,running total,place,x,y\n"
    rows = [f"Tidewheel,{n},{total},1-1,{n},28\n" for n, total in ((1, 0), (2, 16), ("2A", 24))]
    rows[2] = "Tidewheel,2A,24,1-1,3,28\n"
    sheets.accept(head + "".join(rows))
    assert sets() == [("1", 0), ("2", 16), ("2A", 8)]
    falling = head + rows[0] + rows[2] + rows[1]
    assert sheets.faults(falling) == [(4, "running total")]


def test_totals_that_do_not_add_up_are_told_and_counts_kept(sheets: Sheets) -> None:
    text = "show,set,counts,total,place,x,y\n"
    for n, counts, total in ((1, 0, 0), (2, 16, 16), (3, 8, 28), (4, 8, 36)):
        text += f"Tidewheel,{n},{counts},{total},1-1,{n},28\n"
    plan = sheets.plan(text)
    assert [(w.row, w.column) for w in plan.warnings] == [(4, "total")]
    assert "Set 3 is at 28 counts, but 16 and 8 make 24" in plan.warnings[0].message
    sheets.accept(text)
    assert sets() == [("1", 0), ("2", 16), ("3", 8), ("4", 8)]


@pytest.mark.parametrize(
    ("text", "row", "column"),
    [
        (BLOCKS.replace("Total,16", "Total,20"), 6, "counts"),
        (LONG_BELOW_LINES.replace("Total,32", "Total,33"), 9, "counts"),
    ],
)
def test_a_closing_total_that_does_not_add_up_is_told(
    sheets: Sheets, text: str, row: int, column: str
) -> None:
    plan = sheets.plan(text)
    assert [(w.row, w.column) for w in plan.warnings] == [(row, column)]
    assert "but the counts add up to 16" in plan.warnings[0].message
    assert sheets.plan(LONG_BELOW_LINES.replace("Total,32", "Total,16")).warnings == []


def test_blocks_that_count_differently_are_told(sheets: Sheets) -> None:
    text = BLOCKS.replace("2,16,-6.5,30", "2,12,-6.5,30")
    plan = sheets.plan(text)
    assert [(f.row, f.column) for f in plan.faults] == [(10, "counts")]
    assert plan.faults[0].message == "Set 2 has 16 counts in row 5."


# What is wrong is named where it stands


def test_a_place_missing_from_a_set_is_told_by_name(sheets: Sheets) -> None:
    Place.objects.create(show=Show.objects.get(name="Tidewheel"), label="1-9")
    plan = sheets.plan(WIDE.replace("-6.5,30", ","))
    assert [(w.row, w.column) for w in plan.warnings] == [(4, "set 2 x"), (4, "place")]
    messages = " ".join(w.message for w in plan.warnings)
    assert "Set 2 lacks 1 of 2 places (1-2)." in messages
    assert "This file lacks 1 of the show's places (1-9)." in messages


def test_half_a_coordinate_is_an_error_of_its_cell(sheets: Sheets) -> None:
    assert sheets.faults(WIDE.replace("-6.5,30", "-6.5,")) == [(5, "set 2 y")]


def test_a_set_that_comes_twice_is_told_once(sheets: Sheets) -> None:
    twice = WIDE.replace("set 2 x,set 2 y", "set 1 x,set 1 y")
    assert sheets.faults(twice)[0] == (3, "set 1 x"), "other counts"
    many = "Tidewheel\nplace,set 1 x,set 1 y,set 1 x,set 1 y\n"
    many += "".join(f"1-{n},{n},28,{n + 1},28\n" for n in range(1, 8))
    plan = sheets.plan(many)
    assert [(f.row, f.column) for f in plan.faults] == [(3, "set 1 x")]
    assert "7 places stand in it two times" in plan.faults[0].message


def test_every_slip_of_a_block_is_named_by_row_and_column(sheets: Sheets) -> None:
    plan = sheets.plan((SAMPLES / "messy" / "coordinates_blocks.csv").read_bytes())
    assert [(f.row, f.column) for f in plan.faults] == [
        (7, "place"),
        (9, "side to side"),
        (11, "front to back"),
        (13, "counts"),
        (13, "set"),
    ]
    assert "looks like a date" in plan.faults[0].message
    assert "side 3" in plan.faults[1].message


def test_every_slip_of_a_wide_table_is_named_by_row_and_column(sheets: Sheets) -> None:
    content = (SAMPLES / "messy" / "coordinates_wide.tsv").read_bytes()
    plan = sheets.plan(content)
    assert not plan.faults
    assert [(w.row, w.column) for w in plan.warnings] == [
        (4, "set 2 x"),
        (5, "set 2 x"),
        (6, "set 2 x"),
    ]
    sheets.accept(content)
    assert stored()["1", "1-3"] == (-8.5, 28)


def test_a_label_made_a_date_is_refused_in_every_layout(sheets: Sheets) -> None:
    import datetime

    assert sheets.faults(BLOCKS.replace("Place 1-2", "Place 2-Jan")) == [(7, "place")]
    assert sheets.faults(WIDE.replace("1-2,trumpet", "2026-01-02,trumpet")) == [(5, "place")]
    day = datetime.date(2026, 5, 2)
    book = xlsx_file(["show", "set", "place", "x", "y"], ["Tidewheel", day, "1-1", 0, 28])
    assert sheets.faults(book) == [(2, "set")]


def test_without_a_show_or_coordinates_the_file_is_refused(sheets: Sheets) -> None:
    plan = sheets.plan(WIDE.replace("Tidewheel\n", ""))
    assert [(f.row, f.column) for f in plan.faults] == [(0, "show")]
    assert "put a line “Show: its name” above the table" in plan.faults[0].message
    assert sheets.faults(WIDE_LABELS_FIRST.replace("Tidewheel,1-2", ",1-2")) == [(4, "show")]
    assert sheets.faults("show,set,place\nTidewheel,1,1-1\n") == [(0, "x")]
    assert sheets.faults("show,set,place,x\nTidewheel,1,1-1,4\n") == [(0, "x")]


def test_a_place_far_off_the_field_is_a_slip(sheets: Sheets) -> None:
    assert sheets.faults(LONG.replace("-6.5,30", "-6.5,30000")) == [(5, "y")]
    assert sheets.warnings(LONG.replace("-6.5,30", "-6.5,86")) == [(5, "y")]
    end = LONG.replace("-6.5,30", "-6.5,12 behind the back sideline")
    assert sheets.warnings(end) == [(5, "y")]


# What stays, and what goes round


def test_between_sets_and_tempo_come_in_stay_and_go_out(sheets: Sheets, signed_in: Any) -> None:
    sheets.accept(
        "show,set,counts,between,tempo,place,x,y\n"
        "Tidewheel,1,0,,,1-1,0,28\nTidewheel,1A,8,yes,144,1-1,4,28.0625\n"
    )
    it = DrillSet.objects.get(label="1A")
    assert (it.is_between, it.tempo) == (True, 144)
    sheets.accept("show,set,counts,place,x,y\nTidewheel,1,0,1-1,0,28\nTidewheel,1A,8,1-1,5,28\n")
    it.refresh_from_db()
    assert (it.is_between, it.tempo) == (True, 144), "columns the file lacks change nothing"
    client = signed_in(sheets.cast.staff)
    for form in ("csv", "xlsx"):
        out = client.get(reverse("export", args=["coordinates", form])).content
        page = upload(client, "coordinates", out, f"a.{form}")
        assert "Everything in the file is already there." in words(page)
    assert sheets.faults(
        "show,set,between,tempo,place,x,y\n"
        "Tidewheel,1,perhaps,100,1-1,0,28\nTidewheel,2,no,1000,1-1,0,28\n"
    ) == [(2, "between"), (3, "tempo")]


def test_what_stays_the_same_keeps_its_described_paths(sheets: Sheets) -> None:
    sheets.accept(LONG)
    it, place = DrillSet.objects.get(label="2"), Place.objects.get(label="1-2")
    Path.objects.create(set=it, place=place, words="forward 16")
    lines = LONG.splitlines()
    inserted = [*lines[:3], "Tidewheel,1A,8,1-1,0,28", *lines[3:]]
    sheets.accept("\n".join(inserted).replace("-6.5,30", "-6,30"))
    assert [label for label, _ in sets()] == ["1", "1A", "2"]
    assert Path.objects.get().set == it


def test_a_set_that_only_some_march_is_put_where_they_have_it(sheets: Sheets) -> None:
    text = BLOCKS.replace("2,16,-8,28\nTotal,16\n", "3,16,-8,28\n")
    text = text.replace("2,16,-6.5,30", "2,16,-6.5,30\n3,16,-6,30")
    sheets.accept(text)
    assert [label for label, _ in sets()] == ["1", "2", "3"]


@given(st.permutations(range(8)), st.data())
def test_an_order_that_all_places_keep_is_found(order: list[int], data: st.DataObject) -> None:
    names = [str(n) for n in order]
    whole = data.draw(st.integers(0, 3))
    some = [data.draw(st.sets(st.sampled_from(names)), label=f"place {n}") for n in range(3)]
    sequences = [[n for n in names if n in chosen] for chosen in some]
    sequences.insert(whole, names)
    found = in_order(sequences)
    assert sorted(found) == sorted(names)
    if whole == 0:
        assert found == names


@pytest.mark.parametrize("name", ["coordinates_blocks.csv", "coordinates_wide.csv"])
def test_the_samples_come_in_and_go_round(sheets: Sheets, name: str) -> None:
    sheets.accept((SAMPLES / name).read_bytes())
    assert Position.objects.count() > 5


def test_a_wide_table_of_four_hundred_places_and_eighty_sets_is_read(sheets: Sheets) -> None:
    places = [f"{n // 20 + 1}-{n % 20 + 1}" for n in range(400)]
    head = ["set", "counts", *(f"{place} {axis}" for place in places for axis in "xy")]
    rows = [[n, 8, *[(n * 7 + m) % 60 for m in range(800)]] for n in range(1, 4)]
    plan = sheets.plan(csv_file(["Tidewheel"], head, *rows))
    assert plan.lines[0].label == "Tidewheel, version 1: 3 sets, 1200 positions"
