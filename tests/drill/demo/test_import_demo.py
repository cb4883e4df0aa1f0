"""The demo band and the samples come in through the imports without a fault."""

from __future__ import annotations

import datetime
import io
from pathlib import Path

import pytest
from django.core.management import call_command

from bandops.lib.accounts.models import User
from bandops.lib.exports.kinds import all_exports
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import all_kinds, kind_of
from bandops.lib.imports.models import ImportBatch
from bandops.lib.imports.reading import read_table
from bandops.lib.imports.undo import undo_import
from drill.demo.management.commands.load_demo import FILES
from drill.shows.models import Position, Show
from drill.shows.services.move_checks import check_version
from roster.people.models import Season
from roster.ranks.models import Holding
from tests.lib.imports_help import accept_file, all_same, dump, plan_of

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.walk,
    pytest.mark.postgres("imports write through every constraint"),
]
SAMPLES = Path(__file__).parents[3] / "fixtures" / "samples"


def test_the_demo_band_comes_in_goes_out_and_comes_in() -> None:
    errors = io.StringIO()
    call_command("load_demo", stdout=io.StringIO(), stderr=errors)
    assert errors.getvalue() == ""
    assert Holding.objects.count() > 200
    season, actor = Season.objects.get(), User.objects.get(email__startswith="director")
    candidates = ImportBatch.objects.filter(kind="candidates")
    assert candidates.count() == 1
    assert ImportBatch.objects.count() == len(FILES) + 1
    known = {kind.key for kind in all_kinds()}
    for export in all_exports():
        if export.name not in known:
            continue
        from bandops.lib.exports.tables import to_csv, to_xlsx

        headers, rows = export.rows(season)
        if not rows:
            continue
        for content in (to_csv(headers, rows), to_xlsx(export.name, headers, rows)):
            plan = plan_of(export.name, content, season, actor)
            assert all_same(plan), (export.name, plan.faults[:3])
    _the_planted_faults_alone_are_found(season)
    before = Position.objects.count()
    batch = ImportBatch.objects.filter(kind="practice").get()
    undo_import(actor=actor, batch=batch)
    assert Position.objects.count() == before


def _the_planted_faults_alone_are_found(season: Season) -> None:
    """The checks of moves find in the loaded shows what the generator put there."""
    found = set()
    for show in Show.objects.filter(season=season):
        version = show.versions.get()
        checked = check_version(version, season)
        for finding in checked.found:
            at = checked.drill.sets[finding.at].label
            dots = frozenset(checked.drill.dots[n] for n in finding.dots)
            found.add((show.name, at, finding.fault.value, dots))
    rushed = {f for f in found if f[:3] == ("Tidewheel", "16", "step")}
    assert len(rushed) == 18
    assert found - rushed == {
        ("Tidewheel", "7", "step", frozenset({"13-1"})),
        ("Sixty Lamps Afloat", "11", "edge", frozenset({"F16"})),
        ("Northbound Mail", "11", "close", frozenset({"6-8", "9-8"})),
    }


@pytest.fixture
def season() -> Season:
    return Season.objects.create(
        name="2026",
        band_name="Quillwater College Marching Band",
        starts=datetime.date(2026, 8, 10),
        ends=datetime.date(2026, 12, 20),
        is_current=True,
    )


ORDER = (
    *("instruments", "members", "ranks", "alternates", "events", "absences", "coordinates"),
    *("equipment-kinds", "equipment-items", "measurements", "issues"),
)


def test_the_samples_come_in_and_are_undone_in_turn(season: Season) -> None:
    actor = User.objects.create_user("staff@staff.example")
    dumps, batches = [dump()], []
    for name in ORDER:
        content = (SAMPLES / f"{name}.csv").read_bytes()
        batches.append(accept_file(name, content, season, actor))
        assert all_same(plan_of(name, content, season, actor)), name
        dumps.append(dump())
    for batch, state in zip(reversed(batches), reversed(dumps[:-1]), strict=True):
        undo_import(actor=actor, batch=batch)
        assert dump() == state


def test_every_column_of_the_samples_is_one_the_import_knows() -> None:
    for name in ORDER:
        table = read_table(name, (SAMPLES / f"{name}.csv").read_bytes())
        found = match_headers(table.headers, kind_of(name).columns)
        left_out = [h for n, h in enumerate(table.headers) if n not in found.values()]
        assert left_out == (["note"] if name == "absences" else []), name
