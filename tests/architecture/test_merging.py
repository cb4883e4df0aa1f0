"""Merging two entries of a person: every table that points to them has a rule, and keeps to it."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import models

from bandops.lib.errors import Refused
from roster.people.enums import Merging
from roster.people.models import Member, Person, Qualification
from roster.people.services.merging import merge_people, undo_merge
from tests.architecture.world import World
from tests.factories import Cast
from tests.lib.imports_help import dump

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.postgres("rows move until a constraint refuses them"),
]


@pytest.fixture
def world(kept_counted: World) -> World:
    return kept_counted


def pointing(model: type[models.Model]) -> Iterator[tuple[type[models.Model], str]]:
    """Each table that points to a model, with the column."""
    for relation in model._meta.get_fields(include_hidden=True):
        if isinstance(relation, models.ForeignObjectRel) and not relation.many_to_many:
            assert isinstance(relation.related_model, type)
            yield relation.related_model, relation.field.name


def test_what_says_who_marched_in_public_is_never_moved() -> None:
    rules = {
        model.__name__: getattr(model, "merging", Merging.MOVE) for model, _ in pointing(Member)
    }
    assert {name for name, rule in rules.items() if rule is Merging.STAY} == {
        "LineupRow",
        "Notice",
        "DayChange",
        "Clash",
    }
    assert {n for n, rule in rules.items() if rule is Merging.KEEP} == {
        "RecordEntry",
        "Challenge",
        "Hearing",
        "Issue",
        "Charge",
        "Move",
    }


def test_every_row_of_anybody_follows_and_comes_back(world: World, cast: Cast) -> None:
    merged = 0
    for name, member in list(world.band.members.items()):
        other = Person.objects.create(legal_name=f"{name} once more")
        Member.objects.create(person=other, season=world.band.season)
        before = dump()
        try:
            merge_people(actor=cast.staff, stays=other, goes=member.person)
        except Refused as refused:
            assert any("published" in f or name in f for f in refused.details), refused.details
            continue
        _follows(member)
        undo_merge(actor=cast.staff, person=Person.objects.get(pk=member.person_id))
        after = dump()
        assert {t: rows for t, rows in after.items() if t != "lib_takenback"} == {
            t: rows for t, rows in before.items() if t != "lib_takenback"
        }
        merged += 1
    assert merged >= 2


def _follows(member: Member) -> None:
    """Only what stays by its table's rule still points to the entry that went."""
    for model, column in pointing(Member):
        rule = getattr(model, "merging", Merging.MOVE)
        if rule is Merging.MOVE and model is not Qualification:
            left = model._base_manager.filter(**{column: member})
            assert not left.exists(), f"{model.__name__}.{column}"
