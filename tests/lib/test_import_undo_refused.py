"""Undoing is refused where something has used what was imported."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bandops.lib.errors import Refused
from bandops.lib.imports.undo import undo_import
from drill.lineup.models import Backup
from drill.shows.models import Show
from roster.people.models import Member
from roster.ranks.models import AlternatePlace, Holding
from roster.ranks.services.alternates import add_alternate, remove_alternate
from tests.factories import Band, Cast
from tests.lib.import_files import FILES, MEMBERS, Rows, lived
from tests.lib.imports_help import accept_file, csv_file, dump

__all__ = ["lived"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("undoing reads the audit's JSON")]


def uses_a_show(band: Band, cast: Cast) -> str:
    band.stands.show = Show.objects.get(name="Sixty Lamps Afloat")
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


def names_a_backup_of_a_new_spot(band: Band, cast: Cast) -> str:
    from roster.ranks.models import Spot

    Backup.objects.create(
        spot=Spot.objects.get(rank__label="3", number=2), member=band.members["Kit Moss"], order=1
    )
    return "Kit Moss is a backup for 3-2"


@pytest.mark.parametrize(
    ("kind", "use"),
    [
        ("events", uses_a_show),
        ("members", changes_a_member),
        ("ranks", moves_a_holder),
        ("ranks", names_a_backup_of_a_new_spot),
    ],
    ids=lambda value: getattr(value, "__name__", value),
)
def test_undo_is_refused_by_name_and_changes_nothing(
    lived: Band, cast: Cast, kind: str, use: Callable[[Band, Cast], str]
) -> None:
    batch = accept_file(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
    name = use(lived, cast)
    before = dump()
    with pytest.raises(Refused, match="something has used it since") as refusal:
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
    record_view(cast.staff, "people_member", made.pk, "clearance")
    undo_import(actor=cast.staff, batch=batch)
    assert not Member.objects.filter(pk=made.pk).exists()
