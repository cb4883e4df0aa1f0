"""What went in comes out: exports, one step that undoes, and what stands in its way."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.audit.models import AuditEntry
from bandops.lib.imports.models import ImportBatch
from roster.people.models import Member, Person
from roster.ranks.models import Holding, Spot
from roster.ranks.services.holdings import place_holder
from tests.factories import Band, Cast
from tests.lib.import_pages import GOOD_MEMBERS, staff
from tests.lib.imports_help import accept_shown, csv_file, dump, upload, words

__all__ = ["staff"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


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
    assert "Undid the import of" in words(page)
    assert dump() == before
    again = staff.post(
        reverse("import-undo", args=[batch.pk]), follow=True, HTTP_REFERER=reverse("imports")
    )
    assert "This import was already undone." in words(again)


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
    assert "The import cannot be undone: something has used it since." in shown
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
