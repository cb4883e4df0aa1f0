"""The pages of people who may be there twice."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from drill.absences.models import Absence
from roster.people.models import DifferentPeople, Member, Person
from tests.factories import Band
from tests.lib.import_pages import staff

__all__ = ["staff"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def twins(band: Band) -> tuple[Member, Member]:
    """Kit Moss without a number, and once more with one and the same phone."""
    kit = band.members["Kit Moss"]
    Member.objects.filter(pk=kit.pk).update(phone="555-010-7788")
    Person.objects.filter(pk=kit.person_id).update(student_number="")
    kit.person.refresh_from_db()
    return kit, band.member("Christopher Moss", "clarinet", phone="+1 (555) 010 7788")


def shown(client: Client, name: str, *args: int) -> str:
    return client.get(reverse(name, args=args)).content.decode()


def test_the_list_says_what_two_share(staff: Client, twins: tuple[Member, Member]) -> None:
    text = shown(staff, "people-twice")
    assert "Kit Moss" in text
    assert "Christopher Moss" in text
    assert "same phone" in text


def test_a_merge_is_seen_done_and_undone(staff: Client, twins: tuple[Member, Member]) -> None:
    kit, other = (member.person for member in twins)
    text = shown(staff, "people-merge", kit.pk, other.pk)
    assert "Two main parts: Trumpet stays the main one, Clarinet a double." in text
    assert Person.objects.filter(merged_into__isnull=False).count() == 0
    url = reverse("people-merge", args=[kit.pk, other.pk])
    page = staff.post(url, follow=True)
    assert "Merged: there is one Kit Moss now." in page.content.decode()
    kit.refresh_from_db()
    assert kit.student_number == other.student_number
    assert "Christopher Moss" not in shown(staff, "people")
    staff.post(reverse("merge-undo", args=[other.pk]))
    kit.refresh_from_db()
    assert kit.student_number != other.student_number
    assert "Christopher Moss" in shown(staff, "people")


def test_two_of_one_name_are_told_apart(staff: Client, twins: tuple[Member, Member]) -> None:
    kit, other = (member.person for member in twins)
    Person.objects.filter(pk=other.pk).update(
        legal_name=kit.legal_name, used_name=kit.used_name, student_number="770417"
    )
    text = shown(staff, "people-merge", kit.pk, other.pk)
    assert "Merge Kit Moss (770417) into Kit Moss (" in text


def test_what_stands_in_the_way_is_said_before(staff: Client, band: Band) -> None:
    ana, bo = (band.members[name].person_id for name in ("Ana Núñez", "Bo Larkspur"))
    text = shown(staff, "people-merge", ana, bo)
    assert "on the same days: end one of them first." in text
    assert "Merge them" not in text


def test_two_people_are_not_offered_again(staff: Client, twins: tuple[Member, Member]) -> None:
    pks = [member.person_id for member in twins]
    staff.post(reverse("people-different", args=pks))
    assert DifferentPeople.objects.count() == 1
    assert "Nobody looks to be here twice." in shown(staff, "people-twice")


def test_a_merge_of_many_rows_asks_as_often(
    staff: Client, band: Band, twins: tuple[Member, Member]
) -> None:
    url = reverse("people-merge", args=[member.person_id for member in twins])
    counts = []
    for many in (1, 20):
        Absence.objects.bulk_create(
            Absence(member=twins[1], event=band.event, kind="out") for _ in range(many)
        )
        with CaptureQueriesContext(connection) as asked:
            assert f">{many if many == 1 else many + 1}<" in staff.get(url).content.decode()
        counts.append(len(asked))
    assert counts[0] == counts[1]


def test_any_two_members_can_be_chosen(staff: Client, band: Band) -> None:
    kit, jon = band.members["Kit Moss"], band.members["Jon Pell"]
    url = reverse("people-twice")
    page = staff.get(url, {"stays": kit.pk, "goes": jon.pk})
    assert page["Location"] == reverse("people-merge", args=[kit.person_id, jon.person_id])
    again = staff.get(url, {"stays": kit.pk, "goes": kit.pk}).content.decode()
    assert "Choose two different members." in again
    assert staff.get(url, {"stays": "x", "goes": "999999"}).status_code == 200


def test_one_entry_is_not_merged_with_itself(staff: Client, band: Band) -> None:
    pk = band.members["Kit Moss"].person_id
    assert "Choose two different people." in shown(staff, "people-merge", pk, pk)


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ({"legal_name": "MOSS, KIT"}, "Kit Moss: same name."),
        ({"legal_name": "Zed Quarry", "phone": "5550107788"}, "Kit Moss: same phone."),
        ({"legal_name": "Zed Quarry", "student_number": "4426"}, "but for zeros in front"),
    ],
)
def test_who_is_added_by_hand_may_be_there_already(
    staff: Client, band: Band, twins: tuple[Member, Member], typed: dict[str, str], why: str
) -> None:
    part = band.parts["trumpet"].pk
    data = {"years_marched": "0", "main": str(part), **typed}
    page = staff.post(reverse("member-new"), data)
    assert why in page.content.decode()
    assert staff.post(reverse("member-new"), data | {"namesake": "on"}).status_code == 302


def test_a_name_typed_last_first_is_stored_as_it_is_called(staff: Client, band: Band) -> None:
    data = {
        "years_marched": "0",
        "main": str(band.parts["trumpet"].pk),
        "legal_name": "van der Berg, Wilhelmina (Mina)",
    }
    staff.post(reverse("member-new"), data)
    made = Person.objects.latest("pk")
    assert (made.legal_name, made.used_name) == ("Wilhelmina van der Berg", "Mina van der Berg")
