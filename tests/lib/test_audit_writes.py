"""The audit: no way of writing misses it, and who did what in which action."""

from __future__ import annotations

import pytest
from django.db import connection, transaction

from bandops.lib.audit.models import AuditEntry
from bandops.lib.audit.recording import current, recorded
from roster.people.models import Instrument, Part, Person, Season
from tests.factories import Band, Cast
from tests.lib.audit_help import after, before, entries, last

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("triggers, JSON and the append-only guard are written for each"),
]


def test_create_and_bulk_create_and_bulk_update_and_update_and_delete(band: Band) -> None:
    table = "people_instrument"
    one = Instrument.objects.create(season=band.season, name="Bugle")
    assert (last(table).op, last(table).row_id, last(table).before) == ("insert", str(one.pk), None)
    made = Instrument.objects.bulk_create(
        [Instrument(season=band.season, name=n) for n in ("Fife", "Gong")]
    )
    assert [after(e)["name"] for e in entries(table)[-2:]] == ["Fife", "Gong"]
    for instrument in made:
        instrument.order = 7
    Instrument.objects.bulk_update(made, ["order"])
    assert [(e.op, before(e)["order"], after(e)["order"]) for e in entries(table)[-2:]] == [
        ("update", 0, 7),
        ("update", 0, 7),
    ]
    Instrument.objects.filter(name__in=["Fife", "Gong"]).update(school_stock=3)
    assert [(before(e)["school_stock"], after(e)["school_stock"]) for e in entries(table)[-2:]] == [
        (None, 3),
        (None, 3),
    ]
    Instrument.objects.filter(name="Gong").delete()
    assert (last(table).op, before(last(table))["name"], last(table).after) == (
        "delete",
        "Gong",
        None,
    )


def test_plain_sql_cannot_miss_it(band: Band) -> None:
    with connection.cursor() as cursor:
        cursor.execute(
            'INSERT INTO people_instrument (season_id, name, "order") VALUES (%s, %s, 0)',
            [band.season.pk, "Zither"],
        )
        cursor.execute("UPDATE people_instrument SET name = 'Zink' WHERE name = 'Zither'")
        cursor.execute("DELETE FROM people_instrument WHERE name = 'Zink'")
    assert [e.op for e in entries("people_instrument")[-3:]] == ["insert", "update", "delete"]
    assert last("people_instrument").actor_id is None


def test_link_tables_are_audited(band: Band) -> None:
    band.event.must_travel.add(band.members["Dee Quill"])
    assert last("events_event_must_travel").op == "insert"
    band.event.must_travel.clear()
    assert last("events_event_must_travel").op == "delete"


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
    assert (last("people_instrument").action, last("people_instrument").actor_id) == ("", None)


def test_a_broken_action_leaves_nothing_behind(band: Band, cast: Cast) -> None:
    count = AuditEntry.objects.count()
    with pytest.raises(RuntimeError), recorded(cast.staff, "count instruments"):
        Instrument.objects.update(school_stock=1)
        raise RuntimeError
    assert AuditEntry.objects.count() == count
    assert current().batch == ""
    Instrument.objects.update(school_stock=2)
    assert last("people_instrument").action == ""


def test_the_system_signs_as_itself(band: Band) -> None:
    with recorded(None, "sweep"):
        Instrument.objects.update(school_stock=1)
    entry = last("people_instrument")
    assert (entry.actor_id, entry.actor_label) == (None, "the system")
