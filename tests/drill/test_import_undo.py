"""Undoing: after an import of any kind every row of every table is what it was before."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from decimal import Decimal

import pytest
from django.db import connection
from django.utils import timezone

from bandops.lib.audit.models import AuditEntry
from bandops.lib.errors import Refused
from bandops.lib.exports import to_csv, to_xlsx
from bandops.lib.imports.undo import undo_import
from drill.models import Absence, Cover, Practice, Show
from roster.exports import export_of
from roster.models import AlternatePlace, Holding, Member
from roster.services.ranks import add_alternate, remove_alternate
from tests.factories import Band, Cast
from tests.lib.imports_help import accept_file, all_same, csv_file, dump, plan_of

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("undoing reads the audit's JSON")]
Rows = list[list[object]]

INSTRUMENTS: Rows = [
    ["instrument", "part", "code", "school instruments"],
    ["Brass", "Trumpet one", "trumpet", "5"],
    ["Sousaphone", "Sousaphone", "sousaphone", "9"],
    ["Flags", "Flags", "flags", ""],
]
MEMBERS: Rows = [
    ["student number", "legal name", "email", "phone", "years marched", "main part", "also plays",
     "own instruments", "status", "listed", "emergency contact", "cleared", "eligible"],
    ["004417", "Ana María Núñez", "ana@new.example", "555", "3", "trumpet", "clarinet", "Trumpet",
     "on leave", "no", "somebody", "until 2099-11-20", "no"],
    ["004427", "Kit Moss", "", "", "0", "clarinet", "trumpet", "", "on leave", "", "", "no", ""],
    ["004428", "Zed Quarry", "", "", "0", "clarinet", "trumpet", "", "left", "", "", "", ""],
    ["1E5", "Nour Qadir", "nour@new.example", "", "1", "sousaphone", "", "", "", "", "", "", ""],
]  # fmt: skip
RANKS: Rows = [
    ["spot", "part", "weight", "needs experience", "holder", "role"],
    ["1-1", "trumpet", "5", "yes", "Bo Larkspur", "leader"],
    ["1-2", "trumpet", "1", "no", "Ana Núñez", "second"],
    ["1-3", "trumpet", "1", "no", "Ida Voss", ""],
    ["1-5", "clarinet", "1", "no", "", ""],
    ["2-1", "trumpet", "1", "no", "Cai Ørnberg", "leader"],
    ["3-1", "clarinet", "2", "no", "Dee Quill", "leader"],
    ["3-2", "trumpet", "2", "no", "Fay Ashgrove", "second"],
]
ALTERNATES: Rows = [
    ["member", "rank", "part", "standing"],
    ["Kit Moss", "1", "trumpet", "1"],
    ["Jon Pell", "1", "trumpet", "2"],
    ["Ida Voss", "2", "trumpet", "1"],
    ["Zed Quarry", "2", "trumpet", ""],
]
EVENTS: Rows = [
    ["event", "kind", "venue", "date", "call time", "cut-off", "travel limit", "dress", "field",
     "segment", "segment kind", "starts", "ends", "show"],
    ["Brackenfield at home", "trip", "Mill Lane", "2099-10-17", "10:00", "2099-10-16 18:00", "90",
     "hat", "70 ft 9 in", "Halftime", "parade", "15:00", "15:30", "Paper Lanterns"],
    ["Lamplight Parade", "parade", "", "2099-10-24", "", "", "", "", "", "March", "parade", "18:00",
     "19:00", "Paper Lanterns"],
]  # fmt: skip
ABSENCES: Rows = [
    ["member", "event", "segment", "from", "until", "kind", "late until", "chance", "category"],
    ["Cai Ørnberg", "Brackenfield at home", "Pregame", "", "", "out", "", "", "family"],
    ["Dee Quill", "", "", "2099-10-01", "2099-10-09", "doubtful", "", "0.35", "injury"],
    ["Eno Farrow", "Brackenfield at home", "", "", "", "late", "14:30", "", ""],
]
COORDINATES: Rows = [
    ["show", "version", "set", "counts", "place", "x", "y"],
    ["Tidewheel", "1", "1", "0", "1-1", "-4", "28"],
    ["Tidewheel", "1", "2", "8", "1-1", "0.0014", "-0.3333"],
    ["Tidewheel", "1", "2", "8", "1-9", "2", "28"],
    ["Paper Lanterns", "October", "1", "0", "1-1", "0", "28"],
]
COVERS: Rows = [
    ["spot", "order", "member"],
    ["1-1", "2", "Ida Voss"],
    ["1-1", "1", "Jon Pell"],
    ["1-2", "1", "Kit Moss"],
]
PRACTICE: Rows = [
    ["member", "spot", "show", "sets"],
    ["Ida Voss", "1-1", "Tidewheel", "9"],
    ["Jon Pell", "1-2", "Tidewheel", "2"],
]
FILES = {
    "instruments": INSTRUMENTS,
    "members": MEMBERS,
    "ranks": RANKS,
    "alternates": ALTERNATES,
    "events": EVENTS,
    "absences": ABSENCES,
    "coordinates": COORDINATES,
    "covers": COVERS,
    "practice": PRACTICE,
}


@pytest.fixture
def lived(band: Band, cast: Cast) -> Band:
    """The small band in the middle of a season, with something for each kind to change."""
    band.season.starts = timezone.localdate() - datetime.timedelta(days=60)
    band.season.save()
    Holding.objects.update(starts=band.season.starts, note="from the tryout")
    band.member("Zed Quarry", "trumpet", "clarinet", cleared="until", cleared_until="2099-10-30")
    band.members["Kit Moss"].qualifications.create(part=band.parts["clarinet"])
    band.event.cut_off = datetime.datetime(2099, 10, 16, 23, 30, tzinfo=datetime.UTC)
    band.event.save()
    Absence.objects.create(
        member=band.members["Gus Tamm"],
        event=band.event,
        kind="doubtful",
        chance=Decimal("0.35"),
        reported_by=cast.staff,
    )
    show = Show.objects.get(name="Tidewheel")
    sets: Rows = [
        ["Tidewheel", "1", name, counts, place, x, "28"]
        for name, counts in (("1", "0"), ("1A", "4"), ("2", "12"))
        for x, place in enumerate(("1-1", "1-2", "1-3"))
    ]
    accept_file("coordinates", csv_file(COORDINATES[0], *sets), band.season, cast.staff)
    for number, name in ((1, "Ida Voss"), (2, "Kit Moss")):
        Cover.objects.create(spot=band.spots["1-1"], member=band.members[name], order=number)
    Practice.objects.create(
        member=band.members["Ida Voss"], spot=band.spots["1-1"], show=show, sets=4
    )
    return band


@pytest.mark.parametrize("kind", FILES)
def test_an_undone_import_leaves_every_row_as_it_was(lived: Band, cast: Cast, kind: str) -> None:
    before = dump()
    batch = accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
    after = dump()
    assert after != before
    undo_import(actor=cast.staff, batch=batch)
    assert dump() == before
    connection.check_constraints()
    again = accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
    assert (again.added, again.changed) == (batch.added, batch.changed)
    undo_import(actor=cast.staff, batch=again)
    assert dump() == before


@pytest.mark.parametrize("form", ["csv", "xlsx"])
@pytest.mark.parametrize("kind", FILES)
def test_every_kind_goes_out_and_comes_in_without_a_change(
    lived: Band, cast: Cast, kind: str, form: str
) -> None:
    accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
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
        batches.append(accept_file(kind, csv_file(*rows), lived.season, cast.staff))
        dumps.append(dump())
    for batch, state in zip(reversed(batches), reversed(dumps[:-1]), strict=True):
        undo_import(actor=cast.staff, batch=batch)
        assert dump() == state


def test_the_undo_is_in_the_audit_by_name(lived: Band, cast: Cast) -> None:
    batch = accept_file("practice", csv_file(*PRACTICE), lived.season, cast.staff)
    undo_import(actor=cast.director, batch=batch)
    entry = AuditEntry.objects.filter(table="drill_practice").first()
    assert entry is not None
    assert (entry.action, entry.actor_id) == ("undo import", cast.director.pk)
    batch.refresh_from_db()
    assert batch.undone_at is not None


def uses_a_show(band: Band, cast: Cast) -> str:
    band.stands.show = Show.objects.get(name="Paper Lanterns")
    band.stands.save()
    return "Stands"


def changes_a_member(band: Band, cast: Cast) -> str:
    Member.objects.filter(pk=band.members["Kit Moss"].pk).update(phone="777")
    return "Kit Moss"


def moves_a_holder(band: Band, cast: Cast) -> str:
    holding = Holding.objects.get(spot=band.spots["1-3"], ends__isnull=True)
    holding.note = "seen"
    holding.save()
    return "1-3: Ida Voss"


def covers_a_new_spot(band: Band, cast: Cast) -> str:
    from roster.models import Spot

    Cover.objects.create(
        spot=Spot.objects.get(rank__label="3", number=2), member=band.members["Kit Moss"], order=1
    )
    return "Kit Moss covers 3-2"


@pytest.mark.parametrize(
    ("kind", "use"),
    [
        ("events", uses_a_show),
        ("members", changes_a_member),
        ("ranks", moves_a_holder),
        ("ranks", covers_a_new_spot),
    ],
    ids=lambda value: getattr(value, "__name__", value),
)
def test_undo_is_refused_by_name_and_changes_nothing(
    lived: Band, cast: Cast, kind: str, use: Callable[[Band, Cast], str]
) -> None:
    batch = accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
    name = use(lived, cast)
    before = dump()
    with pytest.raises(Refused, match="it has been used since") as refusal:
        undo_import(actor=cast.staff, batch=batch)
    assert any(name in detail for detail in refusal.value.details), refusal.value.details
    assert dump() == before


def test_what_an_import_removed_and_somebody_has_replaced_stands_in_the_way(
    lived: Band, cast: Cast
) -> None:
    """Ida's place as first alternate ends with the import and is given to somebody else."""
    rows: Rows = [["spot", "part", "holder"], ["1-9", "trumpet", "Kit Moss"]]
    batch = accept_file("ranks", csv_file(*rows), lived.season, cast.staff)
    add_alternate(
        actor=cast.staff,
        member=lived.members["Zed Quarry"],
        rank=lived.ranks["2"],
        part=lived.parts["trumpet"],
    )
    before = dump()
    with pytest.raises(Refused, match="cannot be undone"):
        undo_import(actor=cast.staff, batch=batch)
    assert dump() == before
    remove_alternate(
        actor=cast.staff, place=AlternatePlace.objects.get(member=lived.members["Zed Quarry"])
    )
    undo_import(actor=cast.staff, batch=batch)
    assert AlternatePlace.objects.filter(member=lived.members["Kit Moss"], standing=1).exists()


def test_a_look_at_a_row_is_no_use(lived: Band, cast: Cast) -> None:
    from bandops.lib.audit.recording import record_view

    batch = accept_file("members", csv_file(*MEMBERS), lived.season, cast.staff)
    made = Member.objects.get(person__student_number="1E5")
    record_view(cast.staff, "roster_member", made.pk, "clearance")
    undo_import(actor=cast.staff, batch=batch)
    assert not Member.objects.filter(pk=made.pk).exists()


def test_a_large_import_is_undone_in_a_bounded_number_of_queries(
    lived: Band, cast: Cast, django_assert_max_num_queries: Callable[[int], object]
) -> None:
    places = 1_200
    rows: Rows = [
        ["Northbound Mail", "1", str(name), "8", f"p{n}", n % 90, "28"]
        for name in range(2)
        for n in range(places)
    ]
    batch = accept_file("coordinates", csv_file(COORDINATES[0], *rows), lived.season, cast.staff)
    with django_assert_max_num_queries(150):  # type: ignore[attr-defined]
        undo_import(actor=cast.staff, batch=batch)
    assert not Show.objects.filter(name="Northbound Mail").exists()
