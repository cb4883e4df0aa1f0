"""Every import that names members finds them in whatever order and dress they are written."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from bandops.lib.imports.plan import Action, Plan
from tests.factories import Band, Cast
from tests.lib.import_files import FILES, Rows, lived
from tests.lib.imports_help import csv_file, plan_of

__all__ = ["lived"]

pytestmark = pytest.mark.django_db
KINDS = ("ranks", "alternates", "absences", "backups", "practice")
NAMED = {"member", "holder"}


def turned(name: str) -> str:
    first, _, last = name.partition(" ")
    return f"{last}, {first}"


DRESSES: dict[str, Callable[[str], str]] = {
    "last first": turned,
    "capitals": lambda name: turned(name).upper(),
    "nickname": lambda name: name.replace(" ", " “Ace” ", 1),
    "initial and suffix": lambda name: name.replace(" ", " Q. ", 1) + ", Jr.",
    "no comma": lambda name: turned(name).replace(",", ""),
}


def dressed(rows: Rows, dress: Callable[[str], str]) -> Rows:
    head, *body = rows
    return [
        head,
        *(
            [
                dress(str(cell)) if cell and key in NAMED else cell
                for key, cell in zip(head, row, strict=True)
            ]
            for row in body
        ),
    ]


def told(plan: Plan) -> list[tuple[int, Action, str]]:
    return [(line.row, line.action, line.label) for line in plan.lines]


@pytest.mark.parametrize("dress", DRESSES)
@pytest.mark.parametrize("kind", KINDS)
def test_names_in_any_dress_plan_the_same(lived: Band, cast: Cast, kind: str, dress: str) -> None:
    plain_plan = plan_of(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
    assert not plain_plan.faults
    content = csv_file(*dressed(FILES[kind], DRESSES[dress]))
    plan = plan_of(kind, content, lived.season, cast.staff)
    assert not plan.faults, plan.faults
    assert told(plan) == told(plain_plan)


def halved(rows: Rows) -> Rows:
    """The names in two columns at the end of each row."""
    head, *body = rows
    at = next(n for n, key in enumerate(head) if key in NAMED)
    made: Rows = [[*head[:at], *head[at + 1 :], "Last", "First"]]
    for row in body:
        first, _, last = str(row[at]).partition(" ")
        made.append([*row[:at], *row[at + 1 :], last, first])
    return made


@pytest.mark.parametrize("kind", KINDS)
def test_names_in_two_columns_plan_the_same(lived: Band, cast: Cast, kind: str) -> None:
    plain_plan = plan_of(kind, csv_file(*FILES[kind]), lived.season, cast.staff)
    plan = plan_of(kind, csv_file(*halved(FILES[kind])), lived.season, cast.staff)
    assert not plan.faults, plan.faults
    assert told(plan) == told(plain_plan)


def test_an_unknown_name_of_two_columns_is_told_where_it_stands(band: Band, cast: Cast) -> None:
    content = csv_file(["from", "last", "first"], ["2099-10-01", "Quarry", "Zed"])
    ((fault),) = plan_of("absences", content, band.season, cast.staff).faults
    assert (fault.row, fault.column) == (2, "last")
    assert "“Quarry, Zed”" in fault.message


def test_two_columns_beside_a_whole_name_are_left_alone(band: Band, cast: Cast) -> None:
    content = csv_file(
        ["member", "from", "last", "first"], ["Ana Núñez", "2099-10-01", "Quarry", "Zed"]
    )
    assert not plan_of("absences", content, band.season, cast.staff).faults
