"""The bad file: the preview names each fault, and nothing is saved by halves."""

from __future__ import annotations

from pathlib import Path

import pytest
from django.test import Client

from bandops.lib.imports.models import ImportBatch
from roster.people.models import Person
from tests.factories import Band
from tests.lib.import_pages import GOOD_MEMBERS, staff
from tests.lib.imports_help import (
    accept_shown,
    csv_file,
    dump,
    faults,
    upload,
    uploads,
    words,
    xlsx_file,
)

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
MESSY = Path(__file__).parents[2] / "fixtures" / "samples" / "messy"
HEADERS = ["student number", "legal name", "", "email", "years marched", "main part", "remarks"]
BAD_MEMBERS = [
    HEADERS,
    ["007701", "Marisol Núñez", "x", "marisol@quillwater.example", "3", "trumpet", ""],
    ["1E5", "Søren van der Zandt", "", "soren@quillwater.example", "two", "trumpet", ""],
    ["5-11", "Quinn Fairweather", "", "quinn@", "1", "kazoo", '=HYPERLINK("x";"y")'],
    ["000120", "Maya Liljedahl", "", "maya1@quillwater.example", "2", "clarinet", ""],
    ["000121", "Maya Liljedahl", "", "maya2@quillwater.example", "0", "clarinet", "+1 year"],
    ["100133", "", "", "", "1", "trumpet", ""],
    ["4417", "Ana Nuñez", "", "", "1", "trumpet", ""],
    ["", "Total", "", "7", "", "12", ""],
]


def files(rows: list[list[str]]) -> list[tuple[str, bytes]]:
    return [
        ("roster.csv", csv_file(*rows)),
        ("roster.txt", csv_file(*rows, delimiter=";")),
        ("roster.xlsx", xlsx_file(*rows)),
    ]


@pytest.mark.parametrize("number", range(3), ids=["csv", "semicolons", "xlsx"])
def test_the_preview_names_each_fault_by_row_and_column(
    band: Band, staff: Client, number: int
) -> None:
    name, content = files(BAD_MEMBERS)[number]
    before = dump()
    page = upload(staff, "members", content, name)
    assert faults(page.context["plan"]) == [
        (3, "years marched"),
        (4, "email"),
        (4, "main part"),
        (7, "legal name"),
        (8, "student number"),
    ]
    shown = words(page)
    for word in (
        "“two” is not a whole number.",
        "“quinn@” is not an email address.",
        "No part “kazoo”",
        "The legal name is missing.",
        "“4417” is new, but 004417 is there",
        "“1E5” may be a code that a spreadsheet changed; it is kept as written.",
        "This is a formula; it is kept as text and never run.",
        "Maya Liljedahl is also in row 6: two people, or one twice?",
        "Column 3 has no header",
        "Row 9 looks like a line of totals and is left out.",
        "Columns left out: (column 3, no header), remarks.",
        "Marisol Núñez",
        "3 errors: nothing can be saved yet",
        "2 words to explain",
    ):
        assert word in shown, word
    assert ("semicolons" in shown) == (number == 1)
    assert "Save all of it" not in shown
    assert dump() == before


def test_a_file_with_faults_cannot_be_forced_in(band: Band, staff: Client) -> None:
    before = dump()
    page = upload(staff, "members", csv_file(*BAD_MEMBERS))
    forced = accept_shown(staff, page)
    assert "Nothing was imported: the file has errors." in words(forced)
    assert "row 3, years marched" in words(forced)
    assert dump() == before
    assert not ImportBatch.objects.exists()


def test_spots_that_became_dates_are_named(band: Band, staff: Client) -> None:
    page = upload(staff, "ranks", (MESSY / "ranks_dates.csv").read_bytes())
    shown = words(page)
    for text in ("2026-05-02", "11-May", "May-12"):
        assert f"“{text}” looks like a date that a spreadsheet made of a spot such as 5-11" in shown
    assert (6, "spot") not in faults(page.context["plan"])
    assert "No member “4417” this season. There is 004417" in shown


@pytest.mark.parametrize("number", range(3), ids=["csv", "semicolons", "xlsx"])
def test_nothing_is_saved_until_it_is_accepted_then_all(
    band: Band, staff: Client, number: int
) -> None:
    name, content = files(GOOD_MEMBERS)[number]
    before = dump()
    page = upload(staff, "members", content, name)
    assert "Save all of it" in words(page)
    assert dump() == before
    done = accept_shown(staff, page)
    assert f"{name}: 3 added, 0 changed." in words(done)
    assert uploads() == 0
    people = Person.objects.filter(student_number__in=["007701", "1E5", "5-11"])
    assert set(people.values_list("legal_name", "pronunciation")) == {
        ("Marisol Núñez", "=HYPERLINK(1)"),
        ("Søren van der Zandt", "@home"),
        ("Quinn Fairweather", ""),
    }


def test_columns_of_other_names_can_be_chosen(band: Band, staff: Client) -> None:
    page = upload(staff, "members", (MESSY / "members_semicolons.csv").read_bytes())
    assert ": choose one above." in words(page)
    assert not page.context["plan"].acceptable
    keys = ["main_part", "student_number", "used_name", "", "legal_name", "years_marched", "email"]
    chosen = {f"column-{n}": key for n, key in enumerate([*keys, "doubles", ""])}
    page = staff.post(page.request["PATH_INFO"], {"what": "columns", **chosen}, follow=True)
    assert {(7, "Yrs"), (8, "Main horn")} <= set(faults(page.context["plan"]))
    assert not any(row == 9 for row, _ in faults(page.context["plan"]))
