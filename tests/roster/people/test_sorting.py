"""Lists of people go by last name; a suffix is none, in rows that were stored before too."""

from __future__ import annotations

from importlib import import_module

import pytest
from django.apps import apps
from django.db import connection

from roster.people.models import Person
from roster.people.queries import members
from tests.factories import Band

pytestmark = pytest.mark.django_db


def test_members_with_a_suffix_stand_with_their_family(band: Band) -> None:
    for name in ("Bo Larkspur Jr.", "Abe Larkspur III"):
        band.member(name, "trumpet")
    listed = [m.name for m in members(band.season).order_by("person__sort_key")]
    at = listed.index("Abe Larkspur III")
    assert listed[at : at + 3] == ["Abe Larkspur III", "Bo Larkspur", "Bo Larkspur Jr."]


def test_people_stored_before_are_sorted_anew(band: Band) -> None:
    person = band.member("Bo Larkspur Jr.", "trumpet").person
    Person.objects.filter(pk=person.pk).update(sort_key="jr bo larkspur")
    step = import_module("roster.people.migrations.0006_sort_without_suffix")
    step.sort_without_suffix(apps, connection.schema_editor())
    person.refresh_from_db()
    assert person.sort_key == "larkspur bo jr"
