"""The import of members: names in any dress, and people who may be there twice."""

from __future__ import annotations

import pytest

from roster.people.models import Member, Person
from tests.factories import Band, Cast
from tests.lib.imports_desk import Desk, changes
from tests.lib.imports_help import accept_file, actions, all_same, csv_file, plan_of
from tests.roster.people.imports_roster import members, person_row

__all__ = ["members"]

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("written", "legal", "used"),
    [
        ("O'Dell, Margaret", "Margaret O'Dell", ""),
        ("O'Dell, Margaret “Peg”", "Margaret O'Dell", "Peg O'Dell"),
        ("Margaret (Peg) van der Berg", "Margaret van der Berg", "Peg van der Berg"),
        ("O'DELL, MARGARET", "Margaret O'Dell", ""),
        ("Tamm, Jr., Otto", "Otto Tamm Jr.", ""),
        ("de la Cruz, María José", "María José de la Cruz", ""),
        ("Ana (née Voss) Rill", "Ana (née Voss) Rill", ""),
    ],
)
def test_a_new_member_is_stored_as_they_are_called(
    members: Desk, written: str, legal: str, used: str
) -> None:
    row = person_row(number="000901", name=written)
    shown = {name: after for name, _, after in changes(members.plan(row))}
    assert shown.get("legal name", written) == legal
    assert shown.get("used name", "") == used
    members.accept(row)
    made = Person.objects.get(student_number="000901")
    assert (made.legal_name, made.used_name) == (legal, used)


def test_the_review_shows_what_was_read(members: Desk) -> None:
    plan = members.plan(person_row(name="O'DELL, MARGARET (PEG)"))
    assert ("legal name", "O'DELL, MARGARET (PEG)", "Margaret O'Dell") in changes(plan)
    assert plan.lines[0].label == "Peg O'Dell"
    assert any("all caps" in warning.message for warning in plan.warnings)


def test_two_columns_and_a_first_name_used_are_read(band: Band, cast: Cast) -> None:
    content = csv_file(
        ["last", "first", "goes by", "main part"],
        ["van der Berg, Jr.", "Willem", "Wim", "trumpet"],
        ["O'Dell", "Margaret “Peg”", "", "trumpet"],
    )
    accept_file("members", content, band.season, cast.staff)
    made = Person.objects.filter(legal_name__in=["Willem van der Berg Jr.", "Margaret O'Dell"])
    assert {person.used_name for person in made} == {"Wim van der Berg", "Peg O'Dell"}
    assert all_same(plan_of("members", content, band.season, cast.staff))


@pytest.mark.parametrize(
    "written", ["LARKSPUR, BO", "Larkspur, Bo", "larkspur bo", "“Bo” Larkspur"]
)
def test_a_known_member_is_found_and_keeps_their_name(members: Desk, written: str) -> None:
    members.accept(person_row(name=written, years=3))
    member = members.band.members["Bo Larkspur"]
    member.refresh_from_db()
    assert (member.years_marched, str(member)) == (3, "Bo Larkspur")
    assert Person.objects.get(pk=member.person_id).legal_name == "Bo Larkspur"


def test_the_name_used_finds_a_member_and_leaves_the_legal_name(members: Desk) -> None:
    members.accept(person_row(number="000901", name="Margaret “Peg” O'Dell"))
    made = Member.objects.get(person__student_number="000901")
    members.accept(person_row(name="O'Dell, Peg", years=1))
    made.refresh_from_db()
    assert (made.person.legal_name, made.years_marched) == ("Margaret O'Dell", 1)


@pytest.mark.parametrize(
    ("row", "why"),
    [
        ({"name": "Beau Larkspur", "number": "9", "email": " BO.Larkspur@Quillwater.example "},
         "may be Bo Larkspur, who is there already (same email)"),
        ({"name": "Robert Larkspur", "phone": "(555) 010-4477"},
         "may be Bo Larkspur, who is there already (same phone)"),
        ({"name": "Bo J. Larkspur"}, "(nearly the same name)"),
        ({"name": "Bo Larkspurr"}, "give the row their student number 004418."),
    ],
)  # fmt: skip
def test_a_new_row_that_may_be_somebody_known_says_so(
    members: Desk, row: dict[str, object], why: str
) -> None:
    Member.objects.filter(pk=members.band.members["Bo Larkspur"].pk).update(phone="1-555-010-4477")
    plan = members.plan(person_row(**row))
    assert actions(plan) == ["add"]
    assert any(why in warning.message for warning in plan.warnings), plan.warnings


def test_two_numbers_tell_two_people_of_like_names_apart(members: Desk) -> None:
    assert not members.plan(person_row(number="9", name="Bo J. Larkspur")).warnings


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        ({"name": "Zed Quarry"}, {"name": "QUARRY, ZED"}, "row 2: two people"),
        ({"name": "A B", "email": "Z@q.example"}, {"name": "C D", "email": "z@q.example"},
         "row 2 (same email)"),
        ({"name": "A B", "number": "0077"}, {"name": "C D", "number": "77"}, "but for zeros"),
    ],
)  # fmt: skip
def test_a_file_that_has_somebody_twice_says_so(
    members: Desk, one: dict[str, object], other: dict[str, object], why: str
) -> None:
    plan = members.plan(person_row(**one), person_row(**other))
    assert any(why in w.message for w in plan.warnings if w.row == 3), plan.warnings


@pytest.mark.parametrize(
    ("written", "mark"),
    [("Otto Tamm (RL)", "RL"), ("Tamm, Otto [Alt 1]", "Alt 1"), ("Tamm (SL), Otto", "SL")],
)
def test_a_mark_beside_a_name_is_no_nickname(members: Desk, written: str, mark: str) -> None:
    row = person_row(number="000901", name=written)
    (warning,) = members.plan(row).warnings
    assert warning.message.startswith(f"“({mark})” next to")
    members.accept(row)
    made = Person.objects.get(student_number="000901")
    assert (made.legal_name, made.used_name) == ("Otto Tamm", "")
