"""A file between its preview and its acceptance: stale, thrown away, accepted twice."""

from __future__ import annotations

import pytest
from django.test import Client
from pytest_django import Settings

from bandops.lib.imports.models import ImportBatch
from roster.people.models import Member, Person
from tests.factories import Band, Cast
from tests.lib.import_pages import GOOD_MEMBERS, SignedIn, staff
from tests.lib.imports_help import accept_shown, csv_file, dump, upload, uploads, words
from tests.lib.tables_help import WRONG

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


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
    assert "Something changed since this preview: look at it again." in words(late)
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


def test_too_large_a_file_is_refused(band: Band, staff: Client, settings: Settings) -> None:
    settings.IMPORT_MAX_BYTES = 2**20
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
