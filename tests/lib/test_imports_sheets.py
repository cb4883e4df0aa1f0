"""A workbook of several sheets: one upload, sheet after sheet."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.imports.models import ImportUpload
from drill.events.models import Event
from roster.people.models import Person
from roster.ranks.models import AlternatePlace, Spot
from tests.factories import Band
from tests.lib.import_pages import staff
from tests.lib.imports_help import csv_file, uploads, words
from tests.lib.review_desk import Reviewer
from tests.lib.test_imports_remembered import book_of

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]

BOOK = {
    "Read me": [["Fall workbook"], ["Ask the office"]],
    "Roster": [
        ["Name (Last, First)", "Horn", "Yr"],
        ["Abelard, Wren", "Tpt", "2nd"],
        ["Birch, Tove", "clarinet", "1st"],
    ],
    "Formation": [["Rank", "1", "2"], ["5", "Wren Abelard", "Tove Birch"]],
    "Dates": [["Date", "What"], ["2099-10-24", "Lamplight Parade"]],
    "Blank": [],
}


@pytest.fixture
def desk(band: Band, staff: Client) -> Reviewer:
    return Reviewer(staff, "members", book_of(**BOOK), "book.xlsx")


def next_sheet(desk: Reviewer, title: str) -> Any:
    """Press the button of a sheet, with what the page says it is."""
    row = next(row for row in desk.page.context["sheets"] if row.title == title)
    url = reverse("import-sheets", args=[desk.page.context["kept"].pk])
    sent = {"sheet": title, "kind": row.likely}
    desk.page = desk.client.post(url, sent, follow=True)
    return desk.plan


def test_the_sheet_that_fits_is_read_first(desk: Reviewer) -> None:
    assert "Read the sheet “Roster”" in desk.text
    assert [line.label for line in desk.plan.lines] == ["Wren Abelard", "Tove Birch"]


def test_each_sheet_is_one_click_after_another(desk: Reviewer) -> None:
    assert "2 added" in desk.save()
    found = {row.title: (row.saved, row.likely) for row in desk.page.context["sheets"]}
    assert found == {
        "Read me": ("", ""),
        "Roster": ("Members", ""),
        "Formation": ("", "ranks"),
        "Dates": ("", "events"),
        "Blank": ("", ""),
    }
    assert next_sheet(desk, "Formation").added == 2
    desk.save()
    assert Spot.objects.filter(rank__label="5").count() == 2
    next_sheet(desk, "Dates")
    desk.save()
    assert Event.objects.get(name="Lamplight Parade").kind == "parade"
    saved = {row.title: row.saved for row in desk.page.context["sheets"]}
    assert (saved["Formation"], saved["Dates"]) == ("Ranks and spots", "Events")
    assert uploads() == 1


def test_rows_to_fix_do_not_cost_the_other_sheets(band: Band, staff: Client) -> None:
    roster = [*BOOK["Roster"], ["Coombe, Lark", "Kazoo", ""]]
    desk = Reviewer(staff, "members", book_of(**BOOK | {"Roster": roster}), "book.xlsx")
    desk.send("aside")
    assert "2 added" in desk.save()
    rest = ImportUpload.objects.get(filename="to fix, book.xlsx")
    assert reverse("import-review", args=[rest.pk]) in desk.text
    assert "Kazoo" in words(staff.get(reverse("import-review", args=[rest.pk])))
    assert next_sheet(desk, "Formation").added == 2


def test_a_file_that_holds_more_is_read_again_as_that(band: Band, staff: Client) -> None:
    """A list of the whole band with a column of alternates: one upload, two imports."""
    rows = [
        ["Name", "Instr.", "Yr", "Alt #"],
        ["Wren Abelard", "clarinet", "2", "2"],
        ["Tove Birch", "clarinet", "1", ""],
    ]
    desk = Reviewer(staff, "members", csv_file(*rows))
    assert "2 added" in desk.save()
    only = desk.page.context["sheets"][0]
    assert (only.title, only.saved, only.likely) == ("", "Members", "alternates")
    assert next_sheet(desk, "").added == 1
    assert "1 added" in desk.save()
    assert AlternatePlace.objects.filter(member__person__legal_name="Wren Abelard").exists()
    assert uploads() == 0


def test_rows_to_fix_of_a_file_that_holds_more_are_apart(band: Band, staff: Client) -> None:
    rows = [["Name", "Instr.", "Alt #"], ["Wren Abelard", "clarinet", "2"], ["Lark", "Kazoo", ""]]
    desk = Reviewer(staff, "members", csv_file(*rows))
    desk.send("aside")
    assert "1 added" in desk.save()
    rest = ImportUpload.objects.get(filename__startswith="to fix, ")
    assert reverse("import-review", args=[rest.pk]) in desk.text
    assert [line.label for line in next_sheet(desk, "").lines] == [
        "Wren Abelard, Rank 1, Clarinet, standing 2"
    ]


def test_a_sheet_or_kind_that_is_not_there_is_refused(desk: Reviewer) -> None:
    desk.save()
    url = reverse("import-sheets", args=[desk.page.context["kept"].pk])
    assert desk.client.post(url, {"sheet": "Roster", "kind": "none"}).status_code == 404
    page = desk.client.post(url, {"sheet": "Budget", "kind": "ranks"}, follow=True)
    assert "has no such sheet" in words(page)


def test_a_workbook_of_one_sheet_goes_back_to_the_list(band: Band, staff: Client) -> None:
    desk = Reviewer(staff, "members", book_of(Roster=BOOK["Roster"]), "book.xlsx")
    desk.save()
    assert desk.page.request["PATH_INFO"] == reverse("imports")
    assert uploads() == 0


@pytest.mark.parametrize(
    ("written", "legal"),
    [("Pell Jon", "Jon Pell"), ("van der Berg Mia", "Mia van der Berg"), ("Voss, Ida", "Ida Voss")],
)
def test_a_heading_says_which_name_comes_first(
    band: Band, staff: Client, written: str, legal: str
) -> None:
    rows = [["Student (Last First)", "Horn", "Student #"], [written, "Tpt", "990001"]]
    Reviewer(staff, "members", csv_file(*rows)).save()
    assert Person.objects.get(student_number="990001").legal_name == legal
