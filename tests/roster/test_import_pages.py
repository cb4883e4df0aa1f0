"""The bad file: the preview names each fault, nothing is saved by halves, one step undoes."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.imports.models import ImportBatch
from roster.models import Holding, Member, Person, Spot
from roster.services.ranks import place_holder
from tests.factories import Band, Cast
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
from tests.lib.test_imports_reading import WRONG

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
MESSY = Path(__file__).parents[2] / "fixtures" / "samples" / "messy"
SignedIn = Callable[[User | None], Client]

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
GOOD_MEMBERS = [
    ["student number", "legal name", "email", "years marched", "main part", "pronunciation"],
    ["007701", "Marisol Núñez", "marisol@quillwater.example", "3", "trumpet", "=HYPERLINK(1)"],
    ["1E5", "Søren van der Zandt", "soren@quillwater.example", "4", "clarinet", "@home"],
    ["5-11", "Quinn Fairweather", "", "1", "sousaphone", ""],
]


@pytest.fixture
def staff(cast: Cast, signed_in: SignedIn) -> Client:
    return signed_in(cast.staff)


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
        "“quinn@” is not an e-mail address.",
        "No part “kazoo”",
        "The legal name is missing.",
        "“4417” is new, but 004417 is there",
        "“1E5” may be a code that a spreadsheet changed; it is kept as written.",
        "This is a formula; it is kept as text and never run.",
        "Maya Liljedahl also stands in row 6: two people, or one twice?",
        "Column 3 has no header",
        "Row 9 looks like a line of totals and is left out.",
        "Columns left out: (column 3, no header), remarks.",
        "Marisol Núñez",
        "5 errors: nothing can be saved yet",
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


@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_what_goes_out_comes_in_without_a_change(band: Band, staff: Client, form: str) -> None:
    accept_shown(staff, upload(staff, "members", csv_file(*GOOD_MEMBERS)))
    for kind in ("instruments", "members", "ranks", "alternates", "events"):
        out = staff.get(reverse("export", args=[kind, form]))
        if kind == "members":
            text = out.content.decode("utf-8-sig") if form == "csv" else ""
            assert form == "xlsx" or ("'=HYPERLINK(1)" in text and "'@home" in text)
        page = upload(staff, kind, out.content, f"{kind}.{form}")
        plan = page.context["plan"]
        assert plan.faults == []
        assert (plan.added, plan.changed) == (0, 0), plan.lines
        assert "Everything in the file is already there." in words(page)


def test_one_step_undoes_the_import(band: Band, staff: Client) -> None:
    before = dump()
    accept_shown(staff, upload(staff, "members", csv_file(*GOOD_MEMBERS)))
    batch = ImportBatch.objects.get()
    assert dump() != before
    page = staff.post(reverse("import-undo", args=[batch.pk]), follow=True)
    assert "is undone." in words(page)
    assert dump() == before
    again = staff.post(
        reverse("import-undo", args=[batch.pk]), follow=True, HTTP_REFERER=reverse("imports")
    )
    assert "This import was undone already." in words(again)


def test_undo_is_refused_with_the_names_of_what_has_used_it(
    band: Band, cast: Cast, staff: Client
) -> None:
    accept_shown(staff, upload(staff, "members", csv_file(*GOOD_MEMBERS)))
    used = Member.objects.get(person__student_number="007701")
    spot = Spot.objects.create(rank=band.ranks["1"], number=9, part=band.parts["trumpet"])
    place_holder(actor=cast.staff, spot=spot, member=used, on=band.season.starts)
    changed = Person.objects.get(student_number="1E5")
    changed.pronouns = "they/them"
    changed.save()
    before = dump()
    url = reverse("import-undo", args=[ImportBatch.objects.get().pk])
    page = staff.post(url, follow=True, HTTP_REFERER=reverse("imports"))
    shown = words(page)
    assert "The import cannot be undone: it has been used since." in shown
    assert "1-9: Marisol Núñez" in shown
    assert "Søren van der Zandt" in shown
    assert dump() == before


def test_what_was_used_and_given_back_can_be_undone(band: Band, cast: Cast, staff: Client) -> None:
    before = dump()
    accept_shown(staff, upload(staff, "members", csv_file(*GOOD_MEMBERS)))
    more = csv_file(["student number", "legal name", "main part", "pronouns"], [
        "1E5", "Søren van der Zandt", "clarinet", "he/him",
    ])  # fmt: skip
    accept_shown(staff, upload(staff, "members", more))
    for batch in ImportBatch.objects.order_by("-id"):
        staff.post(reverse("import-undo", args=[batch.pk]))
    assert dump() == before


def test_a_stale_preview_is_refused(band: Band, staff: Client) -> None:
    rows = [
        ["student number", "legal name", "main part", "pronouns"],
        ["004417", "Ana Núñez", "trumpet", "she/her"],
    ]
    page = upload(staff, "members", csv_file(*rows))
    person = band.members["Ana Núñez"].person
    person.pronouns = "they/them"
    person.save()
    before = dump()
    late = accept_shown(staff, page)
    assert "The data changed since this preview was made: look at it again." in words(late)
    assert dump() == before
    assert late.context["plan"].lines[0].changes[0].before == "they/them"


def test_columns_chosen_elsewhere_make_a_preview_stale(band: Band, staff: Client) -> None:
    rows = [["name", "a", "main part"], ["Marisol Núñez", "555", "trumpet"]]
    page = upload(staff, "members", csv_file(*rows))
    assert "Columns left out: a." in words(page)
    url = page.request["PATH_INFO"]
    columns = {"column-0": "legal_name", "column-1": "phone", "column-2": "main_part"}
    staff.post(url, {"what": "columns", **columns})
    assert "look at it again" in words(accept_shown(staff, page))
    assert not Person.objects.filter(legal_name="Marisol Núñez").exists()
    accept_shown(staff, staff.get(url))
    assert Member.objects.get(person__legal_name="Marisol Núñez").phone == "555"


def test_columns_of_other_names_can_be_chosen(band: Band, staff: Client) -> None:
    page = upload(staff, "members", (MESSY / "members_semicolons.csv").read_bytes())
    assert ": choose one above." in words(page)
    assert not page.context["plan"].acceptable
    keys = ["main_part", "student_number", "used_name", "", "legal_name", "years_marched", "email"]
    chosen = {f"column-{n}": key for n, key in enumerate([*keys, "doubles", ""])}
    page = staff.post(page.request["PATH_INFO"], {"what": "columns", **chosen}, follow=True)
    assert {(7, "Yrs"), (8, "Main horn")} <= set(faults(page.context["plan"]))
    assert not any(row == 9 for row, _ in faults(page.context["plan"]))


@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_file_gets_a_plain_word_and_no_error_page(
    band: Band, staff: Client, name: str
) -> None:
    content, message = WRONG[name]
    page = upload(staff, "members", content, "roster.csv")
    assert page.status_code == 200
    assert message in words(page) or (not content and "empty" in words(page))
    assert "Traceback" not in words(page)
    assert uploads() == 0


def test_a_very_long_file_name_is_no_error(band: Band, staff: Client) -> None:
    page = upload(staff, "members", csv_file(*GOOD_MEMBERS), "n" * 245 + ".csv")
    assert page.status_code == 200
    assert accept_shown(staff, page).status_code == 200
    assert ImportBatch.objects.get().filename.endswith(".csv")


def test_too_large_a_file_is_refused(band: Band, staff: Client, settings: object) -> None:
    settings.IMPORT_MAX_BYTES = 2**20  # type: ignore[attr-defined]
    page = upload(staff, "members", b"a,b\n" + b"x,y\n" * 2**18)
    assert "larger than 1 MB" in words(page)


def test_what_only_the_database_sees_is_refused_by_row(
    band: Band, cast: Cast, staff: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = upload(staff, "members", csv_file(*GOOD_MEMBERS))
    before = dump()
    from django.db import IntegrityError

    saved = Member.save
    calls = []

    def second_fails(self: Member, *args: object, **kwargs: object) -> None:
        calls.append(self)
        if len(calls) == 2:
            raise IntegrityError("a raw word of the database")
        saved(self, *args, **kwargs)  # type: ignore[arg-type]

    monkeypatch.setattr(Member, "save", second_fails)
    late = accept_shown(staff, page)
    assert "Nothing was imported because of row 3, Søren van der Zandt." in words(late)
    assert "raw word" not in words(late)
    assert dump() == before


def test_a_file_can_be_thrown_away(band: Band, staff: Client) -> None:
    page = upload(staff, "members", csv_file(*GOOD_MEMBERS))
    assert uploads() == 1
    page = staff.post(page.request["PATH_INFO"], {"what": "leave"}, follow=True)
    assert "nothing was saved" in words(page)
    assert uploads() == 0


def test_a_review_is_its_uploader_s_own(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    page = upload(signed_in(cast.staff), "members", csv_file(*GOOD_MEMBERS))
    url = page.request["PATH_INFO"]
    assert signed_in(cast.director).get(url).status_code == 404
    assert signed_in(cast.member).get(url).status_code == 403


def test_accepting_twice_is_no_second_import(band: Band, staff: Client) -> None:
    page = upload(staff, "members", csv_file(*GOOD_MEMBERS))
    accept_shown(staff, page)
    assert accept_shown(staff, page).status_code == 404
    assert ImportBatch.objects.count() == 1


@pytest.mark.parametrize("kind", ["members", "absences"])
def test_taking_out_what_is_private_is_noted(
    band: Band, cast: Cast, staff: Client, kind: str
) -> None:
    staff.get(reverse("export", args=[kind, "csv"]))
    view = AuditEntry.objects.get(op="view")
    assert view.actor_id == cast.staff.pk
    assert view.action in (
        "look at clearance and eligibility",
        "look at absence reasons",
    )


def test_emergency_contacts_do_not_go_out(band: Band, staff: Client) -> None:
    Member.objects.update(emergency_contact="a secret number")
    for form in ("csv", "xlsx"):
        out = staff.get(reverse("export", args=["members", form]))
        assert b"secret" not in out.content
    assert b"emergency" not in staff.get(reverse("export", args=["members", "csv"])).content


def test_an_unknown_kind_or_export_is_not_found(staff: Client, band: Band) -> None:
    assert staff.get(reverse("import-upload", args=["nothing"])).status_code == 404
    assert staff.get(reverse("export", args=["nothing", "csv"])).status_code == 404
    assert staff.get(reverse("export", args=["members", "pdf"])).status_code == 404
    assert Holding.objects.exists()
