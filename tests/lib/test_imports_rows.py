"""Rows that are no entries, rows set aside, and the file they come back in."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.imports.asides import likely_aside
from bandops.lib.imports.models import ImportBatch, ImportUpload
from bandops.lib.imports.reading import read_table
from bandops.lib.imports.rest import rows_named
from drill.lineup.models import Backup
from drill.shows.models import ShowVersion
from roster.people.models import Member
from tests.factories import Band
from tests.lib.import_pages import staff
from tests.lib.imports_help import csv_file, dump, upload
from tests.lib.review_desk import Reviewer

__all__ = ["staff"]

HEAD = ["student number", "legal name", "email", "main part"]
GOOD = [["881", "Wren Abelard", "", "trumpet"], ["882", "Tove Birch", "", "clarinet"]]
BAD = [["883", "Lark Coombe", "lark@", "trumpet"], ["884", "", "", "trumpet"]]


@pytest.mark.parametrize(
    ("texts", "why"),
    [
        (["Student Number", "legal name", "Email", "MAIN PART"], "the headings again"),
        (["", "Legal name", "", "main part"], "the headings again"),
        (["Total", "12", "", ""], "a line of totals"),
        (["* returning member", "", "", ""], "a note"),
        (["", "Updated 8/14 by the office", "", ""], "a note"),
        (["", "everybody here has paid", "", ""], "a note"),
        (["", "Wren Abelard", "", ""], ""),
        (["881", "Legal name", "", "trumpet"], ""),
    ],
)
def test_what_looks_like_no_entry(texts: list[str], why: str) -> None:
    assert likely_aside(texts, HEAD) == why


def test_a_narrow_table_s_lone_cells_are_entries() -> None:
    table = read_table("f.csv", csv_file(["instrument", "part"], ["* a long name of one", ""]))
    assert len(table.rows) == 1


FULL = [["Wren Abelard", "Trumpet", "So"], ["Tove Birch", "Trumpet", "Jr"]]
TURNED = [["Abelard, Wren", "Trumpet", "So"], ["Birch, Tove", "Trumpet", "Jr"]]


@pytest.mark.parametrize(
    ("rows", "text", "heads"),
    [
        (FULL, "Trumpets", True),
        (FULL, "Rank B", True),
        (FULL, "FLUTES (8)", True),
        (TURNED, "Drumline - 12", True),
        (FULL, "Alto Sax section", True),
        (FULL, "Low brass:", True),
        (TURNED, "Alto Saxophones", True),
        (FULL, "Lark Coombe", False),
        (TURNED, "Coombe, Lark", False),
        (FULL, "7B", False),
        ([row[:1] for row in FULL], "Trumpets", False),
    ],
)
def test_headings_of_groups_are_marked(rows: list[list[str]], text: str, heads: bool) -> None:
    file = csv_file(["Name", "Instr.", "Yr"], [text], *rows, [text], *rows)
    table = read_table("f.csv", file)
    assert [aside.row.number for aside in table.asides] == ([2, 5] if heads else [])
    said = "Rows 2, 5 each look like the heading of a group and are left out."
    assert (said in table.notes) == heads


def test_rows_are_named_as_people_list_them() -> None:
    assert rows_named("3, 5 – 7;9", range(1, 12)) == [3, 5, 6, 7, 9]
    assert rows_named("", range(5)) == []
    for wrong, said in (("3,x", "“x” is not a row"), ("3-99", "The file has no row 8")):
        with pytest.raises(ValueError, match=said):
            rows_named(wrong, range(1, 8))


@pytest.mark.django_db
def test_likely_rows_are_marked_and_can_be_taken_in(band: Band, staff: Client) -> None:
    rows = [HEAD, GOOD[0], HEAD, GOOD[1], ["Total", "2", "", ""], ["Note: mail the office"]]
    desk = Reviewer(staff, "members", csv_file(*rows))
    assert [row["number"] for row in desk.page.context["out"]] == [3, 5, 6]
    assert [line.row for line in desk.plan.lines] == [2, 4]
    desk.send("rows", out=["3", "6"])
    assert {fault.row for fault in desk.plan.faults} == {5}
    desk.send("rows", out=["3", "6"], more="5")
    assert [row["number"] for row in desk.page.context["out"]] == [3, 5, 6]
    assert "2 added" in desk.save()


@pytest.mark.django_db
def test_rows_can_be_left_out_by_number_and_wrong_numbers_are_told(
    band: Band, staff: Client
) -> None:
    desk = Reviewer(staff, "members", csv_file(HEAD, *GOOD))
    assert "The file has no row 9." in desk.send("rows", more="9")
    assert "“two” is not a row" in desk.send("rows", more="two")
    desk.send("rows", more="2")
    assert "1 added" in desk.save()
    assert not ImportUpload.objects.exists(), "a row that is no entry is nothing to fix"


@pytest.mark.django_db
@pytest.mark.postgres("imports write through every constraint")
def test_good_rows_are_saved_and_the_others_come_back_as_a_file(band: Band, staff: Client) -> None:
    before = dump()
    desk = Reviewer(staff, "members", csv_file(HEAD, *GOOD, *BAD), "roster.xlsx")
    assert "2 of 4 rows cannot be saved" in desk.text
    desk.send("aside")
    assert dump() == before
    assert "Save the 2 good rows" in desk.text
    file = staff.get(reverse("import-rest", args=[desk.url.split("/")[-2]]))
    said = desk.save()
    assert "2 added, 0 changed. 2 rows to fix" in said
    assert "The other rows are saved." in desk.text and desk.page.context["step"].url in desk.text
    assert Member.objects.filter(person__student_number__in=["881", "882"]).count() == 2
    assert [f.row for f in desk.plan.faults] == [2, 3]
    assert staff.get(desk.url + "rest/").content == file.content
    table = read_table("rest.csv", file.content)
    assert table.headers == (*HEAD, "what is wrong")
    assert [row.cell(0).text for row in table.rows] == ["883", "884"]
    assert "“lark@” is not an email address." in table.rows[0].cell(4).text
    fixed = csv_file(
        [*HEAD, "what is wrong"], ["883", "Lark Coombe", "", "trumpet", "email: no address"]
    )
    assert "1 added" in Reviewer(staff, "members", fixed).save()


@pytest.mark.django_db
def test_one_step_takes_the_good_rows_back(band: Band, staff: Client) -> None:
    before = dump()
    desk = Reviewer(staff, "members", csv_file(HEAD, *GOOD, *BAD))
    desk.send("aside")
    desk.save()
    staff.post(reverse("import-undo", args=[ImportBatch.objects.get().pk]))
    assert {t: rows for t, rows in dump().items() if "member" in t} == {
        t: rows for t, rows in before.items() if "member" in t
    }


@pytest.mark.django_db
def test_reasons_of_a_file_that_comes_back_wrong_again_replace_the_old_ones(
    band: Band, staff: Client
) -> None:
    head = ["what is wrong", *HEAD]
    desk = Reviewer(staff, "members", csv_file(head, ["old", *BAD[0]], ["", *GOOD[0]]))
    desk.send("aside")
    table = read_table("r.csv", staff.get(desk.url + "rest/").content)
    assert table.headers == tuple(head)
    assert "is not an email address" in table.rows[0].cell(0).text


@pytest.mark.django_db
def test_a_fault_of_the_whole_file_cannot_be_set_aside(band: Band, staff: Client) -> None:
    desk = Reviewer(staff, "members", csv_file(["legal name", "x"], ["Wren Abelard", "1"]))
    assert "with the whole file" in desk.send("aside")


@pytest.mark.django_db
def test_rows_of_one_spot_or_version_are_saved_together_or_not_at_all(
    band: Band, staff: Client
) -> None:
    Backup.objects.create(spot=band.spots["1-1"], member=band.members["Kit Moss"], order=3)
    rows = [
        ["spot", "order", "member"],
        ["1-1", "1", "Ida Voss"],
        ["1-1", "two", "Jon Pell"],
        ["1-2", "1", "Ida Voss"],
    ]
    desk = Reviewer(staff, "backups", csv_file(*rows))
    desk.send("aside")
    desk.save()
    assert sorted(b.spot.label for b in Backup.objects.all()) == ["1-1", "1-2"]
    head = ["show", "version", "set", "counts", "dot", "x", "y"]
    sheet = [
        ["Tidewheel", "7", "1", "0", "1-1", "0", "28"],
        ["Tidewheel", "7", "2", "8", "1-1", "?", "28"],
    ]
    other = ["Tidewheel", "8", "1", "0", "1-1", "0", "28"]
    desk = Reviewer(staff, "coordinates", csv_file(head, *sheet, other))
    desk.send("aside")
    desk.save()
    assert not ShowVersion.objects.filter(label="7").exists()
    assert ShowVersion.objects.filter(label="8").exists()


@pytest.mark.django_db
def test_setting_aside_goes_on_until_no_row_is_wrong(band: Band, staff: Client) -> None:
    """A second entry of the same person is wrong only as long as the first is there."""
    page = upload(staff, "members", csv_file(HEAD, GOOD[0], GOOD[0], GOOD[1]))
    desk = Reviewer(staff, "members", csv_file(HEAD, GOOD[0], GOOD[0], GOOD[1]))
    assert page.context["plan"].faults
    desk.send("aside")
    assert not desk.plan.faults
    assert [line.row for line in desk.plan.lines] == [4]
