"""The import of members: every fault is named where it stands."""

from __future__ import annotations

import pytest

from roster.people.models import Instrument, Member, Part, Person
from tests.lib.imports_desk import Desk
from tests.lib.imports_help import actions
from tests.roster.people.imports_roster import ANA, members, person_row

__all__ = ["members"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]
FAULTS_OF_MEMBERS = [
    (2, "legal name"),
    (3, "main part"),
    (4, "main part"),
    (5, "also plays"),
    (6, "years marched"),
    (7, "years marched"),
    (8, "email"),
    (9, "status"),
    (10, "listed"),
    (11, "cleared"),
    (12, "eligible"),
    (13, "own instruments"),
    (14, "legal name"),
    (15, "student number"),
    (16, "phone"),
    (17, "email"),
    (18, "student number"),
    (19, "student number"),
    (20, "legal name"),
    (22, "legal name"),
    (23, "student number"),
    (24, "main part"),
    (25, "main part"),
    (26, "main part"),
    (27, "status"),
    (28, "legal name"),
]


def test_every_fault_of_members_is_named(members: Desk) -> None:
    band = members.band
    Person.objects.create(legal_name="Fay Ashgrove")
    instrument = Instrument.objects.create(season=band.season, name="Cornet")
    Part.objects.create(season=band.season, instrument=instrument, name="Trumpet", code="cornet")
    Part.objects.create(season=band.season, instrument=instrument, name="Same", code="same-1")
    Part.objects.create(season=band.season, instrument=instrument, name="Same", code="same-2")
    assert (
        members.faults(
            person_row(name=""),
            person_row(main=""),
            person_row(name="A B", main="kazoo"),
            person_row(name="A C", doubles="trumpet; kazoo"),
            person_row(name="A D", years="two"),
            person_row(name="A E", years=21),
            person_row(name="A F", email="a@"),
            person_row(name="A G", status="gone"),
            person_row(name="A H", listed="perhaps"),
            person_row(name="A I", cleared="until"),
            person_row(name="A J", eligible="soon"),
            person_row(name="A K", own="Tumpet"),
            person_row(name="A" * 201),
            person_row(name="A L", number="9" * 41),
            person_row(name="A M", phone="9" * 41),
            person_row(name="A N", email=f"{'a' * 60}@{'b' * 63}.{'c' * 63}.{'d' * 63}.example"),
            person_row(name="A O", number="88"),
            person_row(name="A P", number="88"),
            person_row(name="Fay Ashgrove"),
            person_row(**ANA),
            person_row(name="ana nunez"),
            person_row(name="A Q", number="4418"),
            person_row(name="A R", main="Same"),
            person_row(name="Bo Larkspur", main="clarinet"),
            person_row(name="Ida Voss", main="clarinet"),
            person_row(name="Cai Ørnberg", years=2, status="left"),
            person_row(name="ﷺ" * 90),
        )
        == FAULTS_OF_MEMBERS
    )


def test_a_namesake_of_somebody_known_is_a_warning(members: Desk) -> None:
    plan = members.plan(person_row(number="999999", name="Dee Quill", main="clarinet"))
    assert actions(plan) == ["add"]
    assert plan.warnings[0].message.startswith("Another person called Dee Quill is there")


def test_a_person_of_an_earlier_season_joins_this_one(members: Desk) -> None:
    person = Person.objects.create(legal_name="Old Hand", student_number="000700")
    members.accept(person_row(number="000700", name="Old Hand", years=3))
    assert Member.objects.get(person=person).years_marched == 3
