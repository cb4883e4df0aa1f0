"""Undoing: after an import of any kind every row of every table is what it was before."""

from __future__ import annotations

import pytest
from django.db import connection
from pytest_django import DjangoAssertNumQueries

from bandops.lib.audit.models import AuditEntry
from bandops.lib.exports.kinds import export_of
from bandops.lib.exports.tables import to_csv, to_xlsx
from bandops.lib.imports.undo import undo_import
from drill.shows.models import Show
from tests.factories import Band, Cast
from tests.lib.import_files import COORDINATES, FILES, PRACTICE, Rows, lived
from tests.lib.imports_help import accept_file, all_same, csv_file, dump, plan_of

__all__ = ["lived"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("undoing reads the audit's JSON")]


@pytest.mark.parametrize("kind", FILES)
def test_an_undone_import_leaves_every_row_as_it_was(lived: Band, cast: Cast, kind: str) -> None:
    before = dump()
    batch = accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff, sure=True)
    after = dump()
    assert after != before
    undo_import(actor=cast.staff, batch=batch)
    assert dump() == before
    connection.check_constraints()
    again = accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff, sure=True)
    assert (again.added, again.changed) == (batch.added, batch.changed)
    undo_import(actor=cast.staff, batch=again)
    assert dump() == before


@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("kind", FILES)
def test_every_kind_goes_out_and_comes_in_without_a_change(
    lived: Band, cast: Cast, kind: str, form: str
) -> None:
    accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff, sure=True)
    export = export_of(kind)
    assert export is not None
    headers, rows = export.rows(lived.season)
    content = to_csv(headers, rows) if form == "csv" else to_xlsx(kind, headers, rows)
    plan = plan_of(kind, content, lived.season, cast.staff)
    assert all_same(plan), (plan.faults, plan.lines)
    assert plan.lines


def test_each_kind_s_file_adds_and_changes(lived: Band, cast: Cast) -> None:
    """The files above have something to add and, but for absences, something to change."""
    for kind, rows in FILES.items():
        plan = plan_of(kind, csv_file(*rows), lived.season, cast.staff)
        assert not plan.faults, (kind, plan.faults)
        assert plan.added, kind
        assert plan.changed or kind == "absences", kind


def test_imports_are_undone_one_after_another(lived: Band, cast: Cast) -> None:
    dumps, batches = [dump()], []
    for kind, rows in FILES.items():
        if kind in ("members", "alternates"):
            continue
        batches.append(accept_file(kind, csv_file(*rows), lived.season, cast.staff, sure=True))
        dumps.append(dump())
    for batch, state in zip(reversed(batches), reversed(dumps[:-1]), strict=True):
        undo_import(actor=cast.staff, batch=batch)
        assert dump() == state


def test_the_undo_is_in_the_audit_by_name(lived: Band, cast: Cast) -> None:
    batch = accept_file("practice", csv_file(*PRACTICE), lived.season, cast.staff, sure=True)
    undo_import(actor=cast.director, batch=batch)
    entry = AuditEntry.objects.filter(table="rehearsals_practice").first()
    assert entry is not None
    assert (entry.action, entry.actor_id) == ("undo import", cast.director.pk)
    batch.refresh_from_db()
    assert batch.undone_at is not None


def test_a_large_import_is_undone_in_a_bounded_number_of_queries(
    lived: Band, cast: Cast, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    places = 1_200
    rows: Rows = [
        ["Northbound Mail", "1", str(name), "8", f"p{n}", n % 90, "28"]
        for name in range(2)
        for n in range(places)
    ]
    batch = accept_file(
        "coordinates", csv_file(COORDINATES[0], *rows), lived.season, cast.staff, sure=True
    )
    with django_assert_max_num_queries(150):
        undo_import(actor=cast.staff, batch=batch)
    assert not Show.objects.filter(name="Northbound Mail").exists()
