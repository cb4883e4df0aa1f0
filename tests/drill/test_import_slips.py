"""A file of coordinates with many slips: all of them are told at once, each where it stands, and
none a second time because of another."""

from __future__ import annotations

from typing import Any

import pytest

from drill.core.field import UNITS_PER_STEP
from drill.models import Event, Lineup, Place, Position, Show, ShowVersion
from tests.drill.test_import_coordinates import Sheets
from tests.factories import Band, Cast
from tests.lib.imports_help import accept_shown, dump, upload, uploads, words

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]

LONG = """show,set,counts,total,place,x,y
Tidewheel,1,0,0,1-1,-16,28
Tidewheel,1,0,0,1-2,-12,28
Tidewheel,1,0,0,1-3,-8,28
Tidewheel,2,16,16,1-1,-8,28
Tidewheel,2,16,16,1-2,sidewise 40,28
Tidewheel,2,16,16,1-3,-4,28
Tidewheel,2,16,16,1-3,-3,28
Tidewheel,3,8,30,1-1,-8,90
Tidewheel,3,8,30,1-2,-8,32
Tidewheel,3,8,30,1-3,-8,36
Tidewheel,4,8,38,1-1,-8,28
Tidewheel,4,8,38,1-2,0,28
"""
BLOCKS = """Tidewheel
Place 1-1
set,counts,side to side,front to back
1,0,-16,28
2,16,-8,28
3,8,-8,90
Total,30
Place 1-2
set,counts,side to side,front to back
1,0,-12,28
2,16,sidewise 40,28
2,16,-6,28
3,8,-8,28
Place 1-3
set,counts,side to side,front to back
1,0,-12,32
3,8,-8,28
"""
WIDE = """Tidewheel
place,set 1 x,set 1 y,set 2 x,set 2 y,set 2 x,set 2 y,set 3 x,set 3 y
counts,0,,16,,16,,8,
total counts,0,,16,,16,,30,
1-1,-16,28,-8,28,-7,28,-8,90
1-2,-12,28,sidewise 40,28,,,-8,32
1-3,-8,28,-4,28,,,,
"""
TOLD = {
    "LONG": (
        [(6, "x"), (8, "place")],
        [(9, "y"), (9, "total"), (12, "set")],
    ),
    "BLOCKS": (
        [(11, "side to side"), (12, "set")],
        [(5, "set"), (6, "front to back"), (7, "counts")],
    ),
    "WIDE": (
        [(5, "set 2 x"), (6, "set 2 x")],
        [(4, "set 3 x"), (5, "set 3 y"), (5, "set 3 x")],
    ),
}
FILES = {"LONG": LONG, "BLOCKS": BLOCKS, "WIDE": WIDE}


@pytest.fixture
def sheets(band: Band, cast: Cast) -> Sheets:
    return Sheets(band, cast)


@pytest.mark.parametrize("name", FILES)
def test_all_slips_of_a_file_are_told_at_once(sheets: Sheets, name: str) -> None:
    """An unknown word, a set twice, a wrong total, a point off the field and a missing place."""
    plan = sheets.plan(FILES[name])
    faults, warnings = TOLD[name]
    assert [(f.row, f.column) for f in plan.faults] == faults
    assert [(w.row, w.column) for w in plan.warnings] == warnings
    messages = " ".join(f.message for f in [*plan.faults, *plan.warnings])
    for text in (
        "“sidewise 40” is not understood across the field; write “side 1, 3.5 outside the 40”",
        "in set 2 also stands in row",
        "90 steps is off the field.",
        "lacks 1 of 3 places (1-3).",
    ):
        assert messages.count(text) == 1, text
    assert "30" in messages and "24" in messages, "the total that was read, and the right one"
    assert not plan.acceptable


@pytest.mark.parametrize("name", FILES)
def test_the_page_shows_all_of_them(sheets: Sheets, signed_in: Any, name: str) -> None:
    page = words(upload(signed_in(sheets.cast.staff), "coordinates", FILES[name].encode()))
    for text in ("sidewise 40", "also stands in row", "off the field", "lacks 1 of 3"):
        assert text in page, text
    assert "2 errors: nothing can be saved yet" in page
    assert "Save all of it" not in page


@pytest.mark.parametrize("name", FILES)
def test_a_cell_that_cannot_be_read_is_told_once(sheets: Sheets, name: str) -> None:
    """Without the other slips nothing is left but the unknown word: its place is not missing."""
    text = {
        "LONG": "\n".join(LONG.splitlines()[:7]),
        "BLOCKS": BLOCKS.split("2,16,-6")[0].replace("3,8,-8,90\nTotal,30\n", ""),
        "WIDE": WIDE.replace(",set 2 x,set 2 y,set 3 x,set 3 y", "", 1)
        .replace("16,,16,,8,", "16,")
        .replace("16,,16,,30,", "16,")
        .replace(",-7,28,-8,90", "")
        .replace(",,,-8,32", "")
        .replace("-4,28,,,,", "-4,28"),
    }[name]
    plan = sheets.plan(text)
    assert ["sidewise 40" in f.message for f in plan.faults] == [True], plan.faults
    assert not plan.warnings


HEAD = "show,set,counts,total,place,x,y\n"


def row(label: str, place: str, *, counts: object = 0, total: object = "", x: object = 0) -> str:
    return f"Tidewheel,{label},{counts},{total},{place},{x},28\n"


def test_a_place_or_set_that_cannot_be_read_is_not_missing_too(sheets: Sheets) -> None:
    first = row("1", "1-1") + row("1", "1-2")
    assert sheets.warnings(HEAD + first + row("2", "1-1") + row("2", "11-May")) == []
    assert sheets.warnings(HEAD + first + row("2", "1-1") + row("", "1-2")) == []
    plan = sheets.plan(HEAD + first + row("1", "1-3") + row("2", "1-1") + row("2", ""))
    assert [(f.row, f.column) for f in plan.faults] == [(6, "place")]
    assert [w.message for w in plan.warnings] == [
        "Set 2 lacks 2 of 3 places (1-2, 1-3). One may stand in a row that cannot be read."
    ]


def test_a_label_that_cannot_be_read_is_no_place_of_the_show_missing(sheets: Sheets) -> None:
    show = Show.objects.get(name="Tidewheel")
    Place.objects.create(show=show, label="5-11")
    assert sheets.warnings(HEAD + row("1", "1-1") + row("1", "11-May")) == []
    Place.objects.create(show=show, label="5-12")
    assert sheets.warnings(HEAD + row("1", "1-1") + row("1", "11-May")) == [(2, "place")]


def test_counts_that_cannot_be_read_make_no_total_wrong(sheets: Sheets) -> None:
    text = HEAD + row("1", "1-1", total=0) + row("2", "1-1", counts="many", total=16)
    text += row("3", "1-1", counts=8, total=24)
    assert sheets.faults(text) == [(3, "counts")]
    assert sheets.warnings(text) == []
    without = text.replace("many,16", "many,")
    assert sheets.faults(without) == [(3, "counts")]
    assert sheets.warnings(without) == []
    later = without + row("4", "1-1", counts=8, total=40)
    assert sheets.warnings(later) == [(5, "total")], "from the next total on they are checked"
    assert sheets.warnings(text + ",,,99,,,\n") == []


def test_a_set_that_comes_twice_makes_no_later_total_wrong(sheets: Sheets) -> None:
    rows = [("1", 0, 0), ("2", 16, 16), ("2", 8, 24), ("4", 8, 32), ("5", 8, 41)]
    text = HEAD + "".join(row(n, "1-1", counts=c, total=t, x=t) for n, c, t in rows)
    plan = sheets.plan(text)
    assert {(f.row, f.column) for f in plan.faults} == {(4, "counts"), (4, "total"), (4, "place")}
    assert [(w.row, w.column) for w in plan.warnings] == [(6, "total")]


def test_one_wrong_total_is_told_once(sheets: Sheets) -> None:
    rows = [("1", 0, 0), ("2", 16, 16), ("3", 8, 30), ("4", 8, 32)]
    text = HEAD + "".join(row(n, "1-1", counts=c, total=t) for n, c, t in rows)
    assert sheets.warnings(text) == [(4, "total")]


def test_a_row_without_its_show_stands_with_the_rows_above_it(sheets: Sheets) -> None:
    text = HEAD + row("1", "1-1") + row("1", "1-2") + row("2", "1-1")
    text += row("2", "1-2").replace("Tidewheel", "")
    plan = sheets.plan(text)
    assert [(f.row, f.column) for f in plan.faults] == [(5, "show")]
    assert plan.warnings == []


def test_both_cells_of_a_row_are_looked_at(sheets: Sheets) -> None:
    text = "show,set,place,x,y\nTidewheel,1,1-1,sidewise,90\nTidewheel,1,1-2,99,\n"
    plan = sheets.plan(text)
    assert [(f.row, f.column) for f in plan.faults] == [(2, "x"), (3, "y")]
    assert plan.faults[1].message.startswith("This is missing: write steps from the front side")
    assert [(w.row, w.column) for w in plan.warnings] == [(2, "y"), (3, "x")]
    one = sheets.plan("show,set,place,coordinate\nTidewheel,1,1-1,\n")
    assert [(f.row, f.column) for f in one.faults] == [(2, "coordinate")]


# Columns whose name is not known


def test_unknown_columns_do_not_hide_what_is_wrong_below_them(sheets: Sheets) -> None:
    plan = sheets.plan("show,pic,counts,plaice,x,y\nTidewheel,1,many,1-1,sidewise,90\n")
    assert [(f.row, f.column) for f in plan.faults] == [
        (0, "set"),
        (0, "place"),
        (2, "counts"),
        (2, "x"),
    ]
    assert "Not read so far: “pic”, “plaice”." in plan.faults[0].message
    assert "(or spot, label)" in plan.faults[1].message
    assert [(w.row, w.column) for w in plan.warnings] == [(2, "y")]


@pytest.mark.parametrize(
    ("text", "slip", "cell"),
    [
        (BLOCKS.replace("set,counts", "sett,counts", 1), (3, "sett"), "sidewise 40"),
        (BLOCKS.replace("side to side", "side too side", 1), (3, "side too side"), "sidewise 40"),
        (WIDE.replace("place,", "plaec,", 1), (2, "plaec"), "sidewise 40"),
    ],
)
def test_a_misspelled_header_of_a_layout_is_a_slip_beside_the_others(
    sheets: Sheets, text: str, slip: tuple[int, str], cell: str
) -> None:
    plan = sheets.plan(text)
    found = {(f.row, f.column): f.message for f in plan.faults}
    assert "No column is called" in found[slip]
    assert any(cell in message for message in found.values())
    assert any("off the field" in w.message for w in plan.warnings)
    assert any("lacks 1 of 3" in w.message for w in plan.warnings)


def test_a_header_that_is_only_like_one_of_a_usual_table_is_left_to_the_person(
    sheets: Sheets,
) -> None:
    plan = sheets.plan("Tidewheel\nsett,place,x,y\n1,1-1,0,28\n")
    assert (0, "set") in [(f.row, f.column) for f in plan.faults]


# Numbers with commas


@pytest.mark.parametrize(
    "text",
    [
        "show,set,place,x,y\nTidewheel,1,1-1,-16,25,28,5\n",
        "Show: Tidewheel\nset,place,x,y\n1,1-1,-16,25,28,5\n",
        "Tidewheel\nPlace 1-1\nset,x,y\n1,-16,25,28,5\n",
        "Tidewheel\nplace,set 1 x,set 1 y\n1-1,-16,25,28,5\n",
    ],
)
def test_a_comma_that_splits_a_number_is_no_shift_of_columns(sheets: Sheets, text: str) -> None:
    plan = sheets.plan(text)
    assert [f.row for f in plan.faults] == [len(text.splitlines())]
    assert "write 16.5, or separate the columns by semicolons" in plan.faults[0].message


def test_numbers_are_read_with_decimal_commas_and_any_minus(sheets: Sheets) -> None:
    sheets.accept("show;set;place;x;y\nTidewheel;12A;1-1;−16,25;28,5\n")
    from tests.drill.test_import_coordinates import stored

    assert stored() == {("12A", "1-1"): (-16.25, 28.5)}


def test_a_second_column_of_one_name_is_told_and_not_read(sheets: Sheets) -> None:
    text = "Tidewheel\nPlace 1-1\nset,x,y,x\n1,-16,28,99\n"
    kind_notes = sheets.plan(text)
    assert not kind_notes.faults and not kind_notes.warnings
    assert kind_notes.lines[0].label == "Tidewheel, version 1: 1 sets, 1 positions"


# A version that a published lineup was made for


@pytest.fixture
def published(sheets: Sheets) -> Lineup:
    """Tidewheel 1 as the drill of the home game's published lineup."""
    sheets.accept(HEAD + row("1", "1-1") + row("1", "1-2"))
    version = ShowVersion.objects.get()
    return Lineup.objects.create(
        event=sheets.band.event,
        state="published",
        number=1,
        show_versions={str(version.show_id): version.pk},
    )


MOVED = (HEAD + row("1", "1-1", x=4) + row("1", "1-2")).encode()


def test_a_published_drill_changes_only_in_a_second_step(
    sheets: Sheets, published: Lineup, signed_in: Any
) -> None:
    client = signed_in(sheets.cast.staff)
    page = upload(client, "coordinates", MOVED)
    shown = words(page)
    assert "Careful: this changes what is published" in shown
    assert (
        "Tidewheel 1 is the drill of the published lineup for Brackenfield at home "
        f"({published.event.date:%-d %b %Y})." in shown
    )
    assert "members' cards change at once: no change notice tells them." in shown
    assert "give the version in the file another label" in shown
    assert 'name="sure" value="yes" required' in shown
    before = dump()
    refused = accept_shown(client, page)
    assert "Nothing was imported: say first that you want this." in words(refused)
    assert dump() == before
    assert uploads() == 1, "the file still waits"
    data = {"what": "accept", "digest": page.context["plan"].digest, "sure": "yes"}
    client.post(page.request["PATH_INFO"], data)
    assert Position.objects.filter(x=4 * UNITS_PER_STEP).exists()


def test_a_lineup_published_after_the_preview_is_no_surprise(
    sheets: Sheets, published: Lineup, signed_in: Any
) -> None:
    """Neither a first one nor another one slips in under a preview that did not name it."""
    client = signed_in(sheets.cast.staff)
    page = upload(client, "coordinates", MOVED)
    other = Event.objects.create(
        season=sheets.band.season, name="Lamplight Parade", kind="parade", date=published.event.date
    )
    Lineup.objects.create(
        event=other, state="published", number=1, show_versions=published.show_versions
    )
    data = {"what": "accept", "digest": page.context["plan"].digest, "sure": "yes"}
    again = client.post(page.request["PATH_INFO"], data, follow=True)
    assert "The data changed since this preview was made" in words(again)
    assert "Lamplight Parade" in words(again)
    assert not Position.objects.filter(x=4 * UNITS_PER_STEP).exists()


def test_a_revision_that_is_replaced_is_warned_of_too(sheets: Sheets, published: Lineup) -> None:
    Lineup.objects.create(event=published.event, state="published", number=2, show_versions={})
    plan = sheets.plan(MOVED)
    assert [w.message for w in plan.cautions] == [
        "Tidewheel 1 is the drill of an earlier published lineup, which no longer matches what "
        "was printed from it. To leave it as it is, give the version in the file another label."
    ]


def test_what_changes_nothing_or_another_version_needs_no_second_step(
    sheets: Sheets, published: Lineup, signed_in: Any
) -> None:
    same = sheets.plan(HEAD + row("1", "1-1") + row("1", "1-2"))
    assert not same.cautions and not same.warnings
    client = signed_in(sheets.cast.staff)
    text = MOVED.decode().replace("show,", "show,version,").replace("Tidewheel,", "Tidewheel,2,")
    page = upload(client, "coordinates", text.encode())
    assert "Careful" not in words(page)
    assert "1 added, 0 changed" in words(accept_shown(client, page))
