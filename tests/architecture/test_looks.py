"""Looking at what is private is noted."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.architecture.privacy import Scene, looks
from tests.architecture.world import client_of, url_of

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("member-emergency", "look at emergency contact"),
        ("member-edit", "look at emergency contact"),
        ("member", "look at clearance and eligibility"),
        ("member-standing", "look at clearance and eligibility"),
        ("member-absences", "look at absence reasons"),
    ],
)
def test_each_look_at_a_member_is_noted(scene: Scene, name: str, what: str) -> None:
    client, pk = client_of(scene.cast, "staff"), scene.world.member.pk
    url = url_of(name, scene.world)
    client.get(url)
    assert looks(scene.cast.staff.pk, pk) == [what]
    client.get(url)
    assert looks(scene.cast.staff.pk, pk) == [what] * 2, "every look, not only the first"
    if name in ("member-edit", "member-standing"):
        client.post(url)
        assert looks(scene.cast.staff.pk, pk) == [what] * 3, "an empty form shows it as well"


@pytest.mark.parametrize(("name", "asked"), [("absences", {}), ("audit", {"q": "absence"})])
def test_each_look_at_a_list_is_noted(scene: Scene, name: str, asked: dict[str, str]) -> None:
    client = client_of(scene.cast, "staff")
    client.get(url_of(name, scene.world), asked)
    assert len(looks(scene.cast.staff.pk, "list")) == 1


def test_an_audit_page_without_private_changes_notes_nothing(scene: Scene) -> None:
    client = client_of(scene.cast, "staff")
    client.get(url_of("audit", scene.world), {"q": "no such action"})
    assert not looks(scene.cast.staff.pk)


@pytest.mark.parametrize("name", ["members", "absences"])
@pytest.mark.parametrize("form", ["csv", "xlsx"])
def test_each_export_of_private_fields_is_noted(scene: Scene, name: str, form: str) -> None:
    client = client_of(scene.cast, "staff")
    assert client.get(reverse("export", args=[name, form])).status_code == 200
    assert looks(scene.cast.staff.pk)
