"""The audit: nothing in it can be altered, and what it never holds."""

from __future__ import annotations

import datetime
import json

import pytest
from django.db import DatabaseError, connection, transaction

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.reading import readable
from bandops.lib.audit.recording import record_view, recorded, unlocked
from roster.people.models import Instrument, Member, Person
from tests.factories import Band, Cast
from tests.lib.audit_help import before, entries, last

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("triggers, JSON and the append-only guard are written for each"),
]


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
        AuditEntry.objects.filter(table="people_person").update(actor_label="")
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
    assert before(last("lib_user"))["email"] == "outsider@else.example"


def test_an_entry_reads_from_and_to(band: Band, cast: Cast) -> None:
    member = band.members["Ana Núñez"]
    with recorded(cast.staff, "change member"):
        Member.objects.filter(pk=member.pk).update(phone="555", years_marched=4)
        Person.objects.filter(pk=member.person_id).update(used_name="Anita", search="anita")
    (read,) = readable([last("people_member")])
    assert read.what == "member: Anita"
    assert set(read.changes) == {("phone", "", "555"), ("years marched", 2, 4)}
    (read,) = readable([last("people_person")])
    assert read.changes == (("name used", "", "Anita"),)
    Person.objects.filter(pk=member.person_id).update(user=None)
    (read,) = readable([last("people_person")])
    assert [change[0] for change in read.changes] == ["user"]


def test_private_values_read_only_as_changed(band: Band) -> None:
    member = Member.objects.filter(pk=band.members["Ana Núñez"].pk)
    member.update(emergency_contact="a secret number", cleared="no")
    (read,) = readable([last("people_member")])
    assert ("emergency contact", "", "…") in read.changes
    assert ("cleared", "…", "…") in read.changes
    assert "secret" not in str(read.changes)


def test_a_look_at_private_fields_is_noted(cast: Cast, band: Band) -> None:
    record_view(cast.staff, "people_member", band.members["Dee Quill"].pk, "emergency contact")
    entry = last("people_member")
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
    assert abs((now - last("people_instrument").at).total_seconds()) < 60
