"""Whatever a file holds: a plan or a plain refusal, never an error of the program."""

from __future__ import annotations

import pytest
from django.db import connection, transaction
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from bandops.lib.errors import Refused
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import accept, all_kinds, kind_of
from bandops.lib.imports.reading import read_table
from bandops.lib.imports.tables import Table
from tests.examples import examples
from tests.factories import Band, Cast
from tests.factories.store import make_store
from tests.factories.tryout import make_tryout
from tests.lib.imports_help import csv_file, plan_of

KINDS = [kind.key for kind in all_kinds()]
STARTS = [b"", b"PK\x03\x04", b"\xff\xfe", b"\xef\xbb\xbf", b"a,b\r\n", b'"', b"a;b\r"]
# What goes wrong in tables: numbers out of range, dates, codes, errors, long and empty cells.
ODD_CELLS = [
    "", "", " ", "0", "-1", "1", "2", "99999", "1e999999999", "0e-999999999", "nan",
    "1.5", "50%", "²", "٣", "5-11", "1-1", "1-2", "11-May", "2026-05-11", "2099-10-17",
    "9999-12-31", "0001-01-01", "19:30", "7:30 pm", "25:00", "004417", "4417", "1E5",
    "Ana Núñez", "Ida Voss", "Ana Nu\u0303ez", "Jon Pell", "trumpet", "clarinet; trumpet",
    "Tidewheel", "Pellowick at home", "Pregame", "game", "pregame", "doubtful", "late",
    "yes", "no", "until", "until 2099-11-01", "leader", "assistant leader", "second", "=1+1",
    "#N/A", "Total",
    "\u200b", "ß", "'", "''=1", "../../etc/passwd",
    "Mars/Olympus", "America/Chicago", "a@b.example", "\ufffd", "\U0001f3ba", "—",
]  # fmt: skip
LONG = ["9" * 400, "x" * 25, "x" * 70, "x" * 300, "ﷺ" * 90]
OF_A_TRYOUT = ("candidates", "scores")
OF_A_STORE = ("equipment-items", "issues")
QUIET = [HealthCheck.function_scoped_fixture, HealthCheck.too_slow, HealthCheck.data_too_large]


@examples(300, long=3000)
@given(st.sampled_from(STARTS), st.binary(max_size=200))
def test_any_bytes_are_a_table_or_a_refusal(start: bytes, rest: bytes) -> None:
    try:
        assert isinstance(read_table("f", start + rest), Table)
    except Refused as refusal:
        assert refusal.message.startswith("f")


@pytest.mark.postgres("imports write through every constraint")
@pytest.mark.django_db
@pytest.mark.parametrize("kind", KINDS)
def test_any_cells_are_a_plan_and_an_acceptable_plan_is_carried_out(
    kind: str, band: Band, cast: Cast
) -> None:
    have_what_it_needs(kind, band, cast)
    headers = [column.title for column in kind_of(kind).columns]
    row = st.lists(st.sampled_from(ODD_CELLS + LONG), min_size=len(headers), max_size=len(headers))

    @examples(15, long=150, suppress_health_check=QUIET)
    @given(st.lists(row, min_size=1, max_size=4))
    def check(rows: list[list[str]]) -> None:
        carry_out(kind, csv_file(headers, *rows), band, cast)

    check()


GOOD = {
    "instruments": ["Horn", "Horn", "horn", "3"],
    "members": ["77", "New One", "", "", "", "", "", "", "", "1", "trumpet", "", "", "active", "",
                "", "", ""],
    "ranks": ["1-9", "1", "", "trumpet", "1", "no", "Ida Voss", ""],
    "alternates": ["Ida Voss", "1", "trumpet", "2"],
    "events": ["Parade", "parade", "", "2099-10-24", "", "", "", "", "", "", "", "March", "parade",
               "18:00", "19:00", ""],
    "absences": ["Ida Voss", "", "", "2099-10-01", "", "out", "", "", "", "", "", "", ""],
    "coordinates": ["Tidewheel", "1", "", "1", "0", "", "", "", "1-1", "0", "0", ""],
    "backups": ["1-1", "1", "Ida Voss"],
    "abbreviations": ["TR2", "to the rear"],
    "practice": ["Ida Voss", "1-1", "Tidewheel", "4"],
    "candidates": ["77", "New One", "", "", "", "", "", "", "1", "", "trumpet", "", "", "", ""],
    "scores": ["101", "A", "Monday", "Flanks", "", "7"],
    "equipment-kinds": ["Cape", "uniform", "", "height", "in", "0 to 2", "", "", "", "2", "1",
                        "no", "no"],
    "equipment-items": ["J-9", "Jacket", "", "", "40", "", "", "34", "", "", "", "", "good", "no",
                        "Rack 1", "", ""],
    "measurements": ["Ida Voss", "in", "2099-08-12", "22", "", "38", "", "", "33", "", "", "", ""],
    "issues": ["J-1", "Ida Voss"],
}  # fmt: skip


@pytest.mark.postgres("odd text reaches the database")
@pytest.mark.walk
@pytest.mark.django_db
@pytest.mark.parametrize("kind", KINDS)
def test_each_odd_cell_in_each_column_is_planned_or_named(
    kind: str, band: Band, cast: Cast
) -> None:
    """One cell at a time in a good row, so that nothing hides behind another fault."""
    have_what_it_needs(kind, band, cast)
    columns = kind_of(kind).columns
    headers = [column.title for column in columns]
    assert len(GOOD[kind]) == len(headers), headers
    assert plan_of(kind, csv_file(headers, GOOD[kind]), band.season, cast.staff).acceptable
    for position in range(len(headers)):
        # Half of the cells a column, for time; the long ones, which databases mind, in each.
        for cell in (*LONG, *ODD_CELLS[position % 2 :: 2]):
            row = [*GOOD[kind]]
            row[position] = cell
            carry_out(kind, csv_file(headers, row), band, cast)


def have_what_it_needs(kind: str, band: Band, cast: Cast) -> None:
    """Lists of a tryout go into one, items are of kinds that are there."""
    if kind in OF_A_TRYOUT:
        make_tryout(band, cast.staff)
    if kind in OF_A_STORE:
        store = make_store(cast.staff)
        store.item("Jacket", "J-1", chest=40, sleeve=34)


def carry_out(kind_key: str, content: bytes, band: Band, cast: Cast) -> None:
    """Import the file and take it back; faults are named, and the database finds no more."""
    kind = kind_of(kind_key)
    try:
        table = kind.read("f.csv", content)
    except Refused:
        return
    mapping = match_headers(table.headers, kind.columns)
    try:
        with transaction.atomic():
            accept(
                actor=cast.staff,
                kind=kind,
                filename="f.csv",
                table=table,
                mapping=mapping,
                season=band.season,
                sure=True,
            )
            connection.check_constraints()
            transaction.set_rollback(True)
    except Refused as refusal:
        assert refusal.message == "Nothing was imported: the file has errors.", refusal.details
