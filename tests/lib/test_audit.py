"""The audit: no way of writing misses it, and nothing in it can be altered."""

from __future__ import annotations

import datetime
import json
from typing import Any

import pytest
from django.apps import apps
from django.core.management import call_command
from django.db import DatabaseError, connection, models, transaction

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.reading import readable
from bandops.lib.audit.recording import current, record_view, recorded, unlocked
from bandops.lib.audit.triggers import APPS, audited_models
from roster.models import Instrument, Member, Part, Person, Season
from tests.factories import Band, Cast

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("triggers, JSON and the append-only guard are written for each"),
]


def entries(table: str, **filters: Any) -> list[AuditEntry]:
    return list(AuditEntry.objects.filter(table=table, **filters).order_by("id"))


def last(table: str) -> AuditEntry:
    return entries(table)[-1]


def test_every_table_but_a_named_few_is_audited() -> None:
    every = {m for label in APPS for m in apps.get_app_config(label).get_models(True)}
    left_out = {m._meta.label for m in every - set(audited_models())}
    assert all(label.startswith("lib.") for label in left_out), left_out
    assert {"lib.AuditEntry", "lib.ImportUpload"} <= left_out
    assert "lib.User" not in left_out
    assert "drill.Event_must_travel" in {m._meta.label for m in audited_models()}


def triggers() -> set[tuple[str, str]]:
    """(table, operation) of every trigger that writes the audit."""
    with connection.cursor() as cursor:
        if connection.vendor == "sqlite":
            cursor.execute("SELECT tbl_name, name FROM sqlite_master WHERE type = 'trigger'")
            return {(t, name.rsplit("_", 1)[1].upper()) for t, name in cursor.fetchall()}
        cursor.execute(
            "SELECT event_object_table, event_manipulation FROM information_schema.triggers "
            "WHERE trigger_name IN ('audit_write', 'audit_guard')"
        )
        return set(cursor.fetchall())


def expected_triggers() -> set[tuple[str, str]]:
    tables = {m._meta.db_table for m in audited_models()}
    written = {(t, op) for t in tables for op in ("INSERT", "UPDATE", "DELETE")}
    return written | {("lib_auditentry", "UPDATE"), ("lib_auditentry", "DELETE")}


def test_every_audited_table_has_its_triggers() -> None:
    assert expected_triggers() <= triggers()


@pytest.mark.django_db(transaction=True)
def test_migrating_leaves_the_triggers_in_place() -> None:
    call_command("migrate", verbosity=0)
    assert expected_triggers() <= triggers()
    call_command("migrate", "roster", verbosity=0)
    assert expected_triggers() <= triggers()


def test_no_audited_column_is_one_that_an_entry_cannot_hold() -> None:
    for model in audited_models():
        kinds = {type(f) for f in model._meta.concrete_fields}
        assert models.BinaryField not in kinds, model


NOBODY = 999_999
DAY = datetime.date(2099, 1, 1)
LATER = {
    "roster_season": {"ends": datetime.date(2099, 2, 1)},
    "drill_segment": {"ends": datetime.time(13)},
    "drill_absence": {"from_date": DAY},
    "drill_rehearsalblock": {"ends": datetime.time(13)},
    "drill_lineuprow": {"member_id": NOBODY},
    "drill_customfield": {"front_hash": 2_000, "back_hash": 4_000},
    "drill_contestround": {"closes_at": datetime.datetime(2099, 1, 2, tzinfo=datetime.UTC)}
    | {"held_at": datetime.datetime(2099, 1, 3, tzinfo=datetime.UTC)},
    "drill_contest": {"challenger_id": NOBODY - 2},
    "drill_turn": {"spot_id": NOBODY},
}
"""what the tables' own constraints want beside the least"""
LEAST: tuple[tuple[type[models.Field[Any, Any]], Any, Any], ...] = (
    (models.ForeignKey, NOBODY, NOBODY - 1),
    (models.UUIDField, "0" * 32, "1" * 32),
    (models.DateTimeField, datetime.datetime(2099, 1, 1, tzinfo=datetime.UTC), None),
    (models.DateField, DAY, None),
    (models.TimeField, datetime.time(12), None),
    (models.JSONField, {}, None),
    (models.CharField, "x", "y"),
    (models.TextField, "x", "y"),
    (models.DecimalField, 1, None),
    (models.BooleanField, False, True),
    (models.IntegerField, 1, 2),
)
"""field, a value, and another that nothing constrains"""


def least_row(model: type[models.Model]) -> models.Model:
    """A row that refers to nothing; it must be gone before the references are checked."""
    values: dict[str, Any] = {}
    for field in model._meta.concrete_fields:
        if field.primary_key:
            values[field.attname] = NOBODY
        elif not field.has_default() and not field.null:
            value = next(value for kind, value, _ in LEAST if isinstance(field, kind))
            values[field.attname] = field.choices[0][0] if field.choices else value
    return model(**values | LATER.get(model._meta.db_table, {}))


def free_field(model: type[models.Model]) -> tuple[models.Field[Any, Any], Any]:
    """A column that may take another value without more ado, and the value."""
    hidden = getattr(model, "audit_hidden", ())
    for field in model._meta.concrete_fields:
        if not field.primary_key and not field.choices and field.column not in hidden:
            other = next((o for kind, _, o in LEAST if isinstance(field, kind)), None)
            if other is not None:
                return field, other
    raise AssertionError(model)


@pytest.mark.parametrize("way", ["queries", "plain SQL"])
@pytest.mark.parametrize("model", audited_models(), ids=lambda m: m._meta.db_table)
def test_each_table_writes_an_entry_for_each_change(model: type[models.Model], way: str) -> None:
    table, key = model._meta.db_table, model._meta.pk.column
    columns = {f.column for f in model._meta.concrete_fields}
    columns -= set(getattr(model, "audit_hidden", ()))
    model._base_manager.bulk_create([least_row(model)])
    row = model._base_manager.filter(pk=NOBODY)
    field, value = free_field(model)
    if way == "queries":
        assert row.update(**{field.attname: value}) == 1
        row._raw_delete(row.db)
    else:
        quote = connection.ops.quote_name
        with connection.cursor() as cursor:
            where = f"WHERE {quote(key)} = {NOBODY}"
            cursor.execute(f"UPDATE {quote(table)} SET {quote(field.column)} = %s {where}", [value])
            cursor.execute(f"DELETE FROM {quote(table)} {where}")
    found = entries(table, row_id=str(NOBODY))
    assert [e.op for e in found] == ["insert", "update", "delete"]
    inserted, updated, deleted = found
    assert set(inserted.after) == set(deleted.before) == columns
    assert inserted.before is None
    assert deleted.after is None
    assert updated.before == inserted.after
    assert updated.after == deleted.before
    assert {c for c in columns if updated.before[c] != updated.after[c]} == {field.column}


def test_create_and_bulk_create_and_bulk_update_and_update_and_delete(band: Band) -> None:
    table = "roster_instrument"
    one = Instrument.objects.create(season=band.season, name="Bugle")
    assert (last(table).op, last(table).row_id, last(table).before) == ("insert", str(one.pk), None)
    made = Instrument.objects.bulk_create(
        [Instrument(season=band.season, name=n) for n in ("Fife", "Gong")]
    )
    assert [e.after["name"] for e in entries(table)[-2:]] == ["Fife", "Gong"]
    for instrument in made:
        instrument.order = 7
    Instrument.objects.bulk_update(made, ["order"])
    assert [(e.op, e.before["order"], e.after["order"]) for e in entries(table)[-2:]] == [
        ("update", 0, 7),
        ("update", 0, 7),
    ]
    Instrument.objects.filter(name__in=["Fife", "Gong"]).update(school_stock=3)
    assert [(e.before["school_stock"], e.after["school_stock"]) for e in entries(table)[-2:]] == [
        (None, 3),
        (None, 3),
    ]
    Instrument.objects.filter(name="Gong").delete()
    assert (last(table).op, last(table).before["name"], last(table).after) == (
        "delete",
        "Gong",
        None,
    )


def test_plain_sql_cannot_miss_it(band: Band) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            'INSERT INTO roster_instrument (season_id, name, "order") VALUES (%s, %s, 0)',
            [band.season.pk, "Zither"],
        )
        cursor.execute("UPDATE roster_instrument SET name = 'Zink' WHERE name = 'Zither'")
        cursor.execute("DELETE FROM roster_instrument WHERE name = 'Zink'")
    assert [e.op for e in entries("roster_instrument")[-3:]] == ["insert", "update", "delete"]
    assert last("roster_instrument").actor_id is None


def test_link_tables_are_audited(band: Band) -> None:
    band.event.must_travel.add(band.members["Dee Quill"])
    assert last("drill_event_must_travel").op == "insert"
    band.event.must_travel.clear()
    assert last("drill_event_must_travel").op == "delete"


def test_a_write_without_a_change_leaves_no_entry(band: Band) -> None:
    count = AuditEntry.objects.count()
    for person in Person.objects.all():
        person.save()
    Season.objects.update(is_current=True)
    assert AuditEntry.objects.count() == count


def test_an_entry_says_who_did_what_in_which_action(band: Band, cast: Cast) -> None:
    with recorded(cast.staff, "count instruments") as batch:
        Instrument.objects.update(school_stock=1)
        with recorded(cast.director, "inside") as inner:
            Part.objects.update(order=3)
        assert inner == batch
    found = AuditEntry.objects.filter(batch=batch)
    assert found.count() == 6
    assert set(found.values_list("actor_id", "actor_label", "action")) == {
        (cast.staff.pk, str(cast.staff), "count instruments")
    }
    assert len(batch) == 36


def test_what_follows_an_action_is_no_part_of_it(band: Band, cast: Cast) -> None:
    with transaction.atomic():
        with recorded(cast.staff, "count instruments"):
            Instrument.objects.update(school_stock=1)
        Instrument.objects.update(school_stock=2)
    assert (last("roster_instrument").action, last("roster_instrument").actor_id) == ("", None)


def test_a_broken_action_leaves_nothing_behind(band: Band, cast: Cast) -> None:
    count = AuditEntry.objects.count()
    with pytest.raises(RuntimeError), recorded(cast.staff, "count instruments"):
        Instrument.objects.update(school_stock=1)
        raise RuntimeError
    assert AuditEntry.objects.count() == count
    assert current().batch == ""
    Instrument.objects.update(school_stock=2)
    assert last("roster_instrument").action == ""


def test_the_system_signs_as_itself(band: Band) -> None:
    with recorded(None, "sweep"):
        Instrument.objects.update(school_stock=1)
    entry = last("roster_instrument")
    assert (entry.actor_id, entry.actor_label) == (None, "the system")


@pytest.mark.parametrize("write", ["update", "delete", "sql update", "sql delete"])
def test_the_audit_cannot_be_altered(band: Band, write: str) -> None:
    before = list(AuditEntry.objects.values())
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        if write == "update":
            AuditEntry.objects.update(action="nothing happened")
        elif write == "delete":
            AuditEntry.objects.all().delete()
        else:
            sql = (
                "UPDATE lib_auditentry SET action = 'x'"
                if "update" in write
                else "DELETE FROM lib_auditentry"
            )
            with connection.cursor() as cursor:
                cursor.execute(sql)
    assert list(AuditEntry.objects.values()) == before


@pytest.mark.skipif(connection.vendor != "postgresql", reason="only PostgreSQL truncates")
def test_the_audit_cannot_be_emptied_at_once(band: Band) -> None:
    refused = pytest.raises(DatabaseError, match="append-only")
    with refused, transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("TRUNCATE lib_auditentry")


def test_unlocking_is_for_its_block_only(band: Band) -> None:
    with unlocked():
        AuditEntry.objects.filter(table="roster_person").update(actor_label="")
    with pytest.raises(DatabaseError, match="append-only"), transaction.atomic():
        AuditEntry.objects.update(action="x")


def test_passwords_and_sign_ins_are_not_in_it(cast: Cast) -> None:
    count = AuditEntry.objects.count()
    cast.staff.set_password("a very long word indeed")
    hashed = cast.staff.password
    cast.staff.last_login = datetime.datetime(2099, 1, 1, tzinfo=datetime.UTC)
    cast.staff.save()
    assert AuditEntry.objects.count() == count
    cast.staff.name = "Changed"
    cast.staff.save()
    User.objects.filter(pk=cast.outsider.pk).delete()
    for entry in entries("lib_user"):
        for row in (entry.before, entry.after):
            assert not {"password", "last_login"} & set(row or {})
            assert hashed not in json.dumps(row)
    assert last("lib_user").before["email"] == "outsider@else.example"


def test_an_entry_reads_from_and_to(band: Band, cast: Cast) -> None:
    member = band.members["Ana Núñez"]
    with recorded(cast.staff, "change member"):
        Member.objects.filter(pk=member.pk).update(phone="555", years_marched=4)
        Person.objects.filter(pk=member.person_id).update(used_name="Anita", search="anita")
    (read,) = readable([last("roster_member")])
    assert read.what == "member Anita"
    assert set(read.changes) == {("phone", "", "555"), ("years marched", 2, 4)}
    (read,) = readable([last("roster_person")])
    assert read.changes == (("used name", "", "Anita"),)
    Person.objects.filter(pk=member.person_id).update(user=None)
    (read,) = readable([last("roster_person")])
    assert [change[0] for change in read.changes] == ["user"]


def test_private_values_read_only_as_changed(band: Band) -> None:
    member = Member.objects.filter(pk=band.members["Ana Núñez"].pk)
    member.update(emergency_contact="a secret number", cleared="no")
    (read,) = readable([last("roster_member")])
    assert ("emergency contact", "", "…") in read.changes
    assert ("cleared", "…", "…") in read.changes
    assert "secret" not in str(read.changes)


def test_a_look_at_private_fields_is_noted(cast: Cast, band: Band) -> None:
    record_view(cast.staff, "roster_member", band.members["Dee Quill"].pk, "emergency contact")
    entry = last("roster_member")
    assert (entry.op, entry.action, entry.actor_id) == (
        "view",
        "look at emergency contact",
        cast.staff.pk,
    )
    (read,) = readable([entry])
    assert read.changes == ()


def test_the_time_of_an_entry_is_the_moment_of_the_write(band: Band) -> None:
    Instrument.objects.update(school_stock=1)
    now = datetime.datetime.now(datetime.UTC)
    assert abs((now - last("roster_instrument").at).total_seconds()) < 60
