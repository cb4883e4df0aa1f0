"""Candidates and score sheets from files, in whatever layout."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from bandops.lib.errors import Refused
from bandops.lib.imports.columns import match_headers
from bandops.lib.imports.kinds import accept, kind_of
from bandops.lib.imports.plan import Plan
from roster.people.models import Person
from roster.tryouts.enums import Source, TryoutState
from roster.tryouts.models import Candidate, ItemReady, Mark
from tests.factories import Cast, TryoutWorld
from tests.lib.imports_help import csv_file

pytestmark = pytest.mark.django_db


def plan(world: TryoutWorld, kind: str, *rows: Sequence[object]) -> Plan:
    it = kind_of(kind)
    table = it.read("f.csv", csv_file(*rows))
    return it.plan(table, match_headers(table.headers, it.columns), world.band.season, world.actor)


def take(world: TryoutWorld, kind: str, *rows: Sequence[object]) -> None:
    it = kind_of(kind)
    table = it.read("f.csv", csv_file(*rows))
    accept(
        actor=world.actor,
        kind=it,
        filename="f.csv",
        table=table,
        mapping=match_headers(table.headers, it.columns),
        season=world.band.season,
        sure=True,
    )


HEAD = ("student number", "name", "years", "first choice", "other choices", "physical form")


def test_candidates_come_in_with_wishes_and_what_they_have(world: TryoutWorld) -> None:
    rows = (
        ("7001", "Zoë Harrow-Quist", "So", "clarinet", "trumpet", "yes"),
        ("7002", "Finch, Ada", 0, "trumpet", "", "no"),
    )
    take(world, "candidates", HEAD, *rows)
    zoe = Candidate.objects.get(person__student_number="7001")
    assert [w.part.name for w in zoe.wishes.order_by("order")] == ["Clarinet", "Trumpet"]
    assert zoe.years_marched == 1 and zoe.number is None
    assert Candidate.objects.get(person__student_number="7002").person.name == "Ada Finch"
    assert list(ItemReady.objects.values_list("candidate", flat=True)) == [zoe.pk]
    assert not plan(world, "candidates", HEAD, *rows).acceptable, "the same file changes nothing"


def test_a_known_person_is_found_and_another_of_the_name_is_asked_about(
    world: TryoutWorld,
) -> None:
    ana = world.band.members["Ana Núñez"].person
    people = Person.objects.count()
    take(world, "candidates", HEAD[:4], (ana.student_number, "Nunez, Ana", 3, "trumpet"))
    assert Candidate.objects.filter(person=ana).exists() and Person.objects.count() == people
    found = plan(world, "candidates", HEAD[:4], ("9999", "Ana Núñez", 0, "trumpet"))
    assert any("Another person called" in w.message for w in found.warnings)


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (("1", "New One", "many", "trumpet", "", ""), "not a whole number"),
        (("1", "New One", 0, "kazoo", "", ""), "No part “kazoo”"),
        (("1", "New One", 0, "", "", ""), "first choice is missing"),
        (("1", "New One", 0, "trumpet", "", "perhaps"), "perhaps"),
    ],
)
def test_what_is_wrong_with_a_candidate_is_told_by_row(
    world: TryoutWorld, row: tuple[object, ...], says: str
) -> None:
    found = plan(world, "candidates", HEAD, row)
    assert any(f.row == 2 and says in f.message for f in found.faults), found.faults


def test_without_a_tryout_the_file_is_no_candidate(world: TryoutWorld) -> None:
    world.tryout.state = TryoutState.DECIDED
    world.tryout.save()
    found = plan(world, "candidates", HEAD, ("1", "New One", 0, "trumpet", "", ""))
    assert "no tryout" in found.faults[0].message


LONG = (
    ("No", "Judge", "Day", "Category", "Score"),
    (101, "A", "Monday", "Flanks", 7),
    (101, "A", "Monday", "Slides", "ns"),
    (102, "b", "Monday", "Flanks", "8.5"),
)
BY_CRITERION = (
    ("Fall sheets",),
    ("Number", "Evaluator", "Session", "Name", "Flanks", "Slides", "Total"),
    (101, "A", "Monday", "?", 7, "ns", 7),
    (102, "B", "Monday", "?", "8.5", "", 8.5),
)
BY_EVALUATOR = (
    ("Number", "Session", "Criterion", "A", "B"),
    (101, "Monday", "Flanks", 7, ""),
    (101, "Monday", "Slides", "ns", ""),
    (102, "Monday", "Flanks", "", "8,5"),
)
BOTH_IN_THE_HEAD = (
    ("Number", "Session", "A Flanks", "A Slides", "Flanks B"),
    (101, "Monday", 7, "ns", ""),
    (102, "Monday", "", "", 8.5),
)


@pytest.mark.parametrize("rows", [LONG, BY_CRITERION, BY_EVALUATOR, BOTH_IN_THE_HEAD])
def test_score_sheets_of_any_layout_say_the_same(
    world: TryoutWorld, rows: tuple[tuple[object, ...], ...]
) -> None:
    take(world, "scores", *rows)
    found = Mark.objects.order_by("candidate__number", "criterion__order").values_list(
        "candidate__number", "panelist__code", "criterion__name", "value", "source"
    )
    assert [(n, p, c, None if v is None else float(v), s) for n, p, c, v, s in found] == [
        (101, "A", "Flanks", 7.0, Source.FILE),
        (101, "A", "Slides", None, Source.FILE),
        (102, "B", "Flanks", 8.5, Source.FILE),
    ]


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ((999, "A", "Monday", "Flanks", 7), "Nobody has the number 999"),
        ((101, "Q", "Monday", "Flanks", 7), "No evaluator “Q”"),
        ((101, "A", "Friday", "Flanks", 7), "No session “Friday”"),
        ((101, "A", "Monday", "Juggling", 7), "No criterion “Juggling”"),
        ((101, "A", "Monday", "Flanks", 70), "0 to 10"),
        ((101, "A", "Monday", "Flanks", "good"), "not a mark"),
    ],
)
def test_what_is_wrong_with_a_mark_is_told_by_row(
    world: TryoutWorld, row: tuple[object, ...], says: str
) -> None:
    found = plan(world, "scores", LONG[0], row)
    assert any(says in f.message for f in found.faults), found.faults


def test_marks_that_are_there_are_never_overwritten(world: TryoutWorld, cast: Cast) -> None:
    world.mark(world.candidates[0], world.panelists[0], world.sessions[0], 5, None, 5)
    found = plan(world, "scores", *LONG)
    assert "5 is there already" in " ".join(f.message for f in found.faults)
    with pytest.raises(Refused):
        take(world, "scores", *LONG)
    assert Mark.objects.count() == 3


def test_a_mark_twice_in_a_file_is_told(world: TryoutWorld) -> None:
    found = plan(world, "scores", *LONG, LONG[1])
    assert "has a mark of the same already" in found.faults[0].message
