"""Paper typed twice: what differs is shown, and nothing counts before both agree."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from bandops.lib.errors import Refused
from roster.tryouts import queries
from roster.tryouts.enums import Source
from roster.tryouts.forms.checking import SheetForm
from roster.tryouts.models import Mark, RetiredNumber, TypedSheet
from roster.tryouts.services import typing
from tests.factories import Cast, TryoutWorld

pytestmark = pytest.mark.django_db


def type_it(world: TryoutWorld, cast: Cast, typed: dict[str, str], *, again: bool) -> TypedSheet:
    """Number -> marks of all criteria, separated by blanks; a dot is empty."""
    rows = {
        number: {
            str(c.pk): "" if text == "." else text
            for c, text in zip(world.criteria, marks.split(), strict=True)
        }
        for number, marks in typed.items()
    }
    return typing.type_sheet(
        actor=cast.director if again else cast.staff,
        session=world.sessions[0],
        panelist=world.panelists[1],
        name="1",
        typed=rows,
        again=again,
    )


def test_two_typings_that_agree_become_marks(world: TryoutWorld, cast: Cast) -> None:
    type_it(world, cast, {"101": "7 8 ns", "102": "5 . 6"}, again=False)
    sheet = type_it(world, cast, {"101": "7.0 8 NS", "102": "5 . 6"}, again=True)
    assert not typing.differences(sheet, queries.criteria(world.tryout))
    assert typing.save_sheet(actor=cast.staff, sheet=sheet) == 5
    assert set(Mark.objects.values_list("source", flat=True)) == {Source.PAPER}
    assert Mark.objects.filter(candidate=world.candidates[1]).count() == 2, "empty is missing"
    with pytest.raises(Refused, match="saved already"):
        typing.save_sheet(actor=cast.staff, sheet=sheet)


def test_what_differs_is_shown_and_looked_up(world: TryoutWorld, cast: Cast) -> None:
    type_it(world, cast, {"101": "7 8 6", "102": "5 5 6"}, again=False)
    sheet = type_it(world, cast, {"101": "7 3 6", "103": "5 5 6"}, again=True)
    found = typing.differences(sheet, queries.criteria(world.tryout))
    assert next((d.number, d.first, d.second) for d in found) == ("101", "8", "3")
    assert {d.number for d in found} == {"101", "102", "103"}
    with pytest.raises(Refused, match="7 cells differ"):
        typing.save_sheet(actor=cast.staff, sheet=sheet)
    chosen = {(d.number, str(d.criterion.pk)): "8" if d.number == "101" else "" for d in found}
    sheet = typing.settle_differences(actor=cast.staff, sheet=sheet, chosen=chosen)
    assert typing.save_sheet(actor=cast.staff, sheet=sheet) == 3


def test_a_difference_left_blank_stays_open(
    world: TryoutWorld, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    type_it(world, cast, {"101": "7 8 6"}, again=False)
    sheet = type_it(world, cast, {"101": "6 . 5"}, again=True)
    url = reverse("typed-differences", args=[world.tryout.pk, sheet.pk])
    first, second, third = (f"101_{c.pk}" for c in world.criteria)
    client = signed_in(cast.staff)
    page = client.post(url, {first: "6", second: "99", third: ""}).content.decode()
    assert "99 is not from" in page and 'value="6"' in page, "nothing typed is lost"
    client.post(url, {first: "6", second: "empty", third: ""})
    sheet.refresh_from_db()
    left = typing.differences(sheet, queries.criteria(world.tryout))
    assert [(d.number, str(d.criterion), d.first, d.second) for d in left] == [
        ("101", "Music", "6", "5")
    ]


def test_a_number_typed_into_both_free_rows_is_refused(world: TryoutWorld) -> None:
    typed = {"number_extra1": "105", "number_extra2": "105"}
    typed |= {f"extra{n}_{world.criteria[0].pk}": str(n) for n in (1, 2)}
    form = SheetForm(world.criteria, ["101"], {}, typed)
    assert form.errors == {"number_extra2": ["This number has a row above."]}


def test_faults_are_all_told_and_nothing_is_kept(world: TryoutWorld, cast: Cast) -> None:
    with pytest.raises(Refused) as refused:
        type_it(world, cast, {"101": "7 88 x", "999": "5 5 5"}, again=False)
    assert len(refused.value.details) == 3
    assert not TypedSheet.objects.exists()


def test_a_number_that_was_given_up_is_found(world: TryoutWorld, cast: Cast) -> None:
    RetiredNumber.objects.create(tryout=world.tryout, candidate=world.candidates[0], number=55)
    for again in (False, True):
        sheet = type_it(world, cast, {"55": "7 8 6"}, again=again)
    typing.save_sheet(actor=cast.staff, sheet=sheet)
    assert Mark.objects.filter(candidate=world.candidates[0]).count() == 3


def test_paper_never_changes_what_was_said_on_a_screen(world: TryoutWorld, cast: Cast) -> None:
    world.mark(world.candidates[0], world.panelists[1], world.sessions[0], 4, 4, 4)
    for again in (False, True):
        sheet = type_it(world, cast, {"101": "7 4 4"}, again=again)
    with pytest.raises(Refused, match="marked otherwise already") as refused:
        typing.save_sheet(actor=cast.staff, sheet=sheet)
    assert refused.value.details == ("101, Flanks: 4 is there already, the paper says 7.",)
