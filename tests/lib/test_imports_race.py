"""Two people accept the same file at once: one import, and a plain word for the other."""

from __future__ import annotations

import threading
from collections.abc import Iterator

import pytest
from django.db import connection

from bandops.lib.errors import Overtaken
from bandops.lib.imports import kinds
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.reading import read_table
from drill.absences.models import Absence
from tests.factories import Band, Cast
from tests.lib.imports_help import csv_file

pytestmark = [
    pytest.mark.postgres("two transactions wait for one lock"),
    pytest.mark.django_db(transaction=True),
]


@pytest.fixture
def start() -> Iterator[threading.Barrier]:
    yield threading.Barrier(2, timeout=20)


def test_an_import_accepted_twice_at_once_is_done_once(
    band: Band, cast: Cast, start: threading.Barrier
) -> None:
    kind = kinds.kind_of("absences")
    content = csv_file(["member", "event"], ["Cai Ørnberg", "Pellowick at home"])
    table = read_table("a.csv", content)
    mapping = match_headers(table.headers, kind.columns)
    digest = kind.plan(table, mapping, band.season, cast.staff).digest
    outcomes: list[str] = []

    def accept() -> None:
        try:
            start.wait()
            kinds.accept(
                actor=cast.staff,
                kind=kind,
                filename="a.csv",
                table=table,
                mapping=mapping,
                season=band.season,
                digest=digest,
            )
            outcomes.append("done")
        except Overtaken:
            outcomes.append("overtaken")
        finally:
            connection.close()

    threads = [threading.Thread(target=accept) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(30)
    assert sorted(outcomes) == ["done", "overtaken"]
    assert Absence.objects.count() == 1
