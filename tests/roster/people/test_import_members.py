"""The import of members: who is known by what, what is added, changed, left as it is."""

from __future__ import annotations

import pytest

from roster.people.models import Member, Person
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import accept_file, actions, all_same, csv_file, plan_of
from tests.roster.people.imports_roster import ANA, members, person_row

__all__ = ["members"]

pytestmark = [pytest.mark.django_db, pytest.mark.postgres("imports write through every constraint")]


def test_members_are_added_changed_and_left(members: Desk) -> None:
    rows = [
        person_row(**ANA),
        person_row(number="004418", name="Bo Larkspur", email="bo@new.example", years=3),
        person_row(
            number="1E5", name="Marisol Núñez", doubles="clarinet; sousaphone", own="Trumpet"
        ),
    ]  # fmt: skip
    plan = members.plan(*rows)
    assert actions(plan) == ["same", "change", "add"]
    assert changes(plan) == [
        ("email", "bo.larkspur@quillwater.example", "bo@new.example"),
        ("years marched", "2", "3"),
        ("student number", "", "1E5"),
        ("parts", "", "trumpet (own), clarinet, sousaphone"),
    ]
    members.accept(*rows)
    made = Member.objects.get(person__student_number="1E5")
    assert {(q.part.code, q.main, q.own_instrument) for q in made.qualifications.all()} == {
        ("trumpet", True, True),
        ("clarinet", False, False),
        ("sousaphone", False, False),
    }


def test_a_used_name_of_one_word_that_is_there_stays(band: Band, cast: Cast) -> None:
    Person.objects.filter(legal_name="Ana Núñez").update(used_name="Anita")
    content = csv_file(
        ["student number", "legal name", "used name", "main part"],
        ["004417", "Ana Núñez", "Anita", "trumpet"],
    )
    plan = plan_of("members", content, band.season, cast.staff)
    assert all_same(plan)
    assert not plan.warnings


def test_a_member_is_known_by_number_then_address_then_name(members: Desk) -> None:
    members.accept(person_row(number="004417", name="Ana María Núñez"))
    assert (
        members.band.members["Ana Núñez"].person.pk
        == Person.objects.get(legal_name="Ana María Núñez").pk
    )
    plan = members.plan(
        person_row(name="Robert Larkspur", email="BO.Larkspur@quillwater.example", years=2),
        person_row(name="cai ornberg", years=2),
    )
    assert actions(plan) == ["change", "change"]


def test_an_empty_clearance_clears_nobody(members: Desk) -> None:
    member = members.band.members["Ana Núñez"]
    Member.objects.filter(pk=member.pk).update(cleared="no", cleared_by="the trainer")
    assert all_same(members.plan(person_row(**ANA)))
    members.accept(person_row(**ANA, phone="1"))
    member.refresh_from_db()
    assert (member.cleared, member.cleared_by, member.phone) == ("no", "the trainer", "1")


def test_a_clearance_names_who_brought_it(members: Desk) -> None:
    member = members.band.members["Ana Núñez"]
    Member.objects.filter(pk=member.pk).update(cleared="no", cleared_by="the trainer")
    members.accept(person_row(**ANA, cleared="until 2026-11-20", eligible="No"))
    member.refresh_from_db()
    assert (member.cleared, str(member.cleared_until)) == ("until", "2026-11-20")
    assert member.cleared_by == str(members.cast.staff)
    assert (member.eligible, member.eligible_until) == ("no", None)


def test_columns_the_file_lacks_stay(band: Band, cast: Cast) -> None:
    member = band.members["Dee Quill"]
    member.qualifications.update(own_instrument=True)
    member.qualifications.create(part=band.parts["trumpet"])
    Member.objects.filter(pk=member.pk).update(phone="555", cleared="no", emergency_contact="them")
    few = csv_file(
        ["student number", "legal name", "main part"], ["004420", "Dee Quill", "clarinet"]
    )
    assert all_same(plan_of("members", few, band.season, cast.staff))
    more = csv_file(
        ["student number", "legal name", "main part", "pronouns"],
        ["004420", "Dee Quill", "clarinet", "she/her"],
    )
    accept_file("members", more, band.season, cast.staff)
    assert {(q.part.code, q.main, q.own_instrument) for q in member.qualifications.all()} == {
        ("clarinet", True, True),
        ("trumpet", False, False),
    }


def test_a_part_named_twice_counts_once(members: Desk) -> None:
    rows = person_row(number="77", name="Twice Over", main="clarinet", doubles="clarinet, trumpet")
    members.accept(rows)
    assert Member.objects.get(person__student_number="77").qualifications.count() == 2


def test_main_and_double_change_places(members: Desk) -> None:
    row = {"number": "77", "name": "Zed Over"}
    members.accept(person_row(**row, main="clarinet", doubles="trumpet"))
    plan = members.plan(person_row(**row, main="trumpet", doubles="clarinet"))
    assert changes(plan) == [("parts", "clarinet, trumpet", "trumpet, clarinet")]
    members.accept(person_row(**row, main="trumpet", doubles="clarinet"))
