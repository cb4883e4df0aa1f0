"""Columns without a heading, headings of many names, and choices kept for files of one shape."""

from __future__ import annotations

import io

import pytest
from django.test import Client
from openpyxl import Workbook

from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import kind_of
from bandops.lib.imports.models import KnownShape
from tests.factories import Band
from tests.lib.import_pages import staff
from tests.lib.imports_help import csv_file
from tests.lib.review_desk import Reviewer

__all__ = ["staff"]

NAMELESS = [
    ["Years", "", "", "", "", "", "Paid"],
    ["2", "004991", "Wren Abelard", "wren@", "(555) 010-0199", "Tpt"],
    ["1", "004992", "van der Birch, Tove", "tove@quillwater.example", "555.010.0198", "clarinet"],
    ["0", "004993", "Lark Coombe", "", "5550100197", "Sousa"],
]


def book_of(**sheets: list[list[str]]) -> bytes:
    book = Workbook()
    book.remove(book.active)
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("kind", "headers", "keys"),
    [
        ("members", ["Student #", "Student", "Instr.", "Cell #"],
         {"student_number", "legal_name", "main_part", "phone"}),
        ("alternates", ["Student", "Line", "Inst", "Alt #"],
         {"member", "rank", "part", "standing"}),
        ("ranks", ["Pos.", "Instr.", "Marcher", "Job"], {"spot", "part", "holder", "role"}),
        ("backups", ["Spot #", "No.", "Marcher"], {"spot", "order", "member"}),
        ("absences", ["Marcher", "First day", "Thru"], {"member", "from", "until"}),
        ("members", ["Name (Last, First)", "Instrument (main)"], {"legal_name", "main_part"}),
        ("members", ["Student (Last First)", "Horn"], {"legal_name", "main_part"}),
        ("alternates", ["Last Name, First Name", "Rank"], {"member", "rank"}),
        ("ranks", ["Spot", "Last, First"], {"spot", "holder"}),
    ],
)  # fmt: skip
def test_headings_of_many_names_are_known(kind: str, headers: list[str], keys: set[str]) -> None:
    assert set(match_headers(headers, kind_of(kind).columns)) == keys


@pytest.mark.django_db
def test_columns_without_a_heading_are_told_by_what_they_hold(band: Band, staff: Client) -> None:
    desk = Reviewer(staff, "members", csv_file(*NAMELESS))
    assert desk.page.context["kept"].mapping == {
        "years_marched": 0,
        "student_number": 1,
        "legal_name": 2,
        "email": 3,
        "phone": 4,
        "main_part": 5,
    }
    assert "Column 4 has no header and is read as “email”." in desk.text
    assert len(desk.plan.lines) == 2
    assert [(fault.row, fault.column) for fault in desk.plan.faults] == [(2, "column 4")]


@pytest.mark.django_db
def test_a_heading_goes_before_what_a_column_holds(band: Band, staff: Client) -> None:
    rows = [["name", "email", "", "main part"]]
    rows += [[n, "", f"{n[0]}@quillwater.example", "trumpet"] for n in ("Wren A", "Tove B")]
    desk = Reviewer(staff, "members", csv_file(*rows))
    assert "Column 3 has no header and is left out." in desk.text


@pytest.mark.django_db
@pytest.mark.postgres("shapes are kept in the database")
def test_columns_are_remembered_for_the_same_headers_of_the_same_kind(
    band: Band, staff: Client
) -> None:
    rows = [["who", "blows"], ["Wren Abelard", "trumpet"]]
    desk = Reviewer(staff, "members", csv_file(*rows))
    desk.send("columns", **{"column-0": "legal_name", "column-1": "main_part"})
    later = Reviewer(staff, "members", csv_file(rows[0], ["Tove Birch", "clarinet"]))
    assert later.page.context["kept"].mapping == {"legal_name": 0, "main_part": 1}
    other = Reviewer(staff, "members", csv_file(["who", "plays on"], ["Tove Birch", "clarinet"]))
    assert other.page.context["kept"].mapping == {}
    assert Reviewer(staff, "absences", csv_file(*rows)).page.context["kept"].mapping == {
        "member": 0
    }


@pytest.mark.django_db
def test_a_sheet_is_chosen_and_remembered(band: Band, staff: Client) -> None:
    head = ["name", "main part"]
    sheets = {
        "Before": [head, ["Zed Q", "Tpt"]],
        "Roster": [head, ["Wren A", "Tpt"]],
    }
    desk = Reviewer(staff, "members", book_of(**sheets), "book.xlsx")
    assert "Read the sheet “Before”" in desk.text
    desk.send("sheet", sheet="Roster")
    assert [line.label for line in desk.plan.lines] == ["Wren A"]
    assert "has no such sheet" in desk.send("sheet", sheet="Budget")
    again = Reviewer(staff, "members", book_of(**sheets), "book.xlsx")
    assert "Read the sheet “Before”" in again.text, "what was only looked at is no choice"
    again.send("leave")
    desk.save()
    sheets["Roster"].append(["Tove B", "clarinet"])
    later = Reviewer(staff, "members", book_of(**sheets), "book.xlsx")
    assert [line.label for line in later.plan.lines] == ["Wren A", "Tove B"]
    assert (
        KnownShape.objects.filter(shape=KnownShape.objects.get(choice="Roster").shape).count() == 1
    )


@pytest.mark.django_db
def test_an_empty_first_sheet_is_passed_over(band: Band, staff: Client) -> None:
    content = book_of(Blank=[], Roster=[["name", "main part"], ["Wren A", "Tpt"]])
    assert "Read the sheet “Roster”" in Reviewer(staff, "members", content, "b.xlsx").text
