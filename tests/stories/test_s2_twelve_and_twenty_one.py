"""S2: two candidates exchanged on one evaluator's sheet are asked about before any average."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Refused
from roster.tryouts.models import Candidate, Correction, Decision, Mark, MarkChange
from roster.tryouts.services import appeals, checking, correcting
from roster.tryouts.services.figures import figures_of
from tests.factories import Band, Cast, TryoutWorld, make_tryout

pytestmark = pytest.mark.django_db


@pytest.fixture
def world(band: Band, cast: Cast) -> TryoutWorld:
    """A, B and C saw everybody on Monday; B wrote 12's marks under 21 and 21's under 12."""
    made = make_tryout(band, cast.staff)
    best, worst = made.candidates[0], made.candidates[-1]
    Candidate.objects.filter(pk=best.pk).update(number=12)
    Candidate.objects.filter(pk=worst.pk).update(number=21)
    for n, it in enumerate(made.candidates):
        for which, panelist in enumerate(made.panelists[:3]):
            written = {best.pk: worst, worst.pk: best}.get(it.pk, it) if which == 1 else it
            level = 9 - 0.5 * n + (0.1, -0.3, 0.2)[which]
            values = [round(level + 0.1 * ((n + k + which) % 3 - 1), 2) for k in range(3)]
            made.mark(written, panelist, made.sessions[0], *values)
    return made


def test_the_check_asks_and_no_average_is_shown(
    world: TryoutWorld, cast: Cast, signed_in: object
) -> None:
    [finding] = checking.check_sheets(world.tryout).grave
    assert finding.title == "Possibly exchanged"
    assert "B's marks of" in finding.text and "12" in finding.text and "21" in finding.text
    best, worst = sorted(finding.beside, key=lambda row: row.candidate.number or 0)
    assert (best.candidate.number, worst.candidate.number) == (12, 21)
    assert best.moved == worst.figure and worst.moved == best.figure
    assert best.others is not None and abs(best.others - best.figure) > 10
    assert abs(best.others - best.moved) < 10, "beside the others' figure it shows"
    client: Client = signed_in(cast.staff)  # type: ignore[operator]
    page = client.get(reverse("tryout-marks", args=[world.tryout.pk])).content.decode()
    assert "Side by side" in page and f"{best.others:.1f}" in page
    page = client.get(reverse("tryout-figures", args=[world.tryout.pk])).content.decode()
    assert "No averages yet" in page and "Possibly exchanged" in page
    assert "Adjusted" not in page


def test_two_people_move_the_marks_and_both_originals_stay(world: TryoutWorld, cast: Cast) -> None:
    [finding] = checking.check_sheets(world.tryout).grave
    before = set(Mark.objects.values_list("pk", "value"))
    asked = correcting.ask_moves(
        actor=cast.staff, tryout=world.tryout, reason="rows swapped", moves=finding.moves
    )
    with pytest.raises(Refused, match="second person"):
        correcting.answer(actor=cast.staff, correction=asked, agreed=True)
    assert checking.check_sheets(world.tryout).grave, "nothing counts before a second person agrees"
    correcting.answer(actor=cast.director, correction=asked, agreed=True)
    assert not checking.check_sheets(world.tryout).grave
    assert set(Mark.objects.values_list("pk", "value")) == before, "what was first given stays"
    assert MarkChange.objects.filter(correction=asked).count() == 6
    figures = {line.candidate.number: line.adjusted for line in figures_of(world.tryout).lines}
    assert max(figures, key=lambda n: figures[n] or 0) == 12
    assert min(figures, key=lambda n: figures[n] or 0) == 21


def test_who_asks_why_never_reads_the_other_s_marks(world: TryoutWorld, cast: Cast) -> None:
    [finding] = checking.check_sheets(world.tryout).grave
    moved = correcting.ask_moves(
        actor=cast.staff, tryout=world.tryout, reason="rows swapped", moves=finding.moves
    )
    correcting.answer(actor=cast.director, correction=moved, agreed=True)
    other = Mark.objects.get(
        candidate=world.candidates[1], panelist=world.panelists[0], criterion=world.criteria[0]
    )
    typo = correcting.ask_correction(
        actor=cast.staff, tryout=world.tryout, reason="typo", values={other.pk: Decimal(9)}
    )
    correcting.answer(actor=cast.director, correction=typo, agreed=True)
    Decision.objects.create(
        tryout=world.tryout,
        version=1,
        basis={"figures": {}},
        first_by=cast.staff,
        second_by=cast.director,
        second_at=moved.asked_at,
    )
    for who, said in (
        (world.candidates[0], {"", appeals.MOVED}),
        (world.candidates[1], {"", f"corrected from {float(other.value or 0):g}"}),
    ):
        looks = appeals.file_of(who).looks
        assert {how for look in looks for _, _, how in look.marks} == said


def test_marks_that_are_right_as_they_stand_are_asked_about_once(
    world: TryoutWorld, cast: Cast
) -> None:
    [finding] = checking.check_sheets(world.tryout).grave
    checking.settle(actor=cast.staff, tryout=world.tryout, key=finding.key)
    assert not checking.check_sheets(world.tryout).grave
    mark = Mark.objects.filter(candidate=world.candidates[0], panelist=world.panelists[1]).first()
    assert mark is not None
    MarkChange.objects.create(
        mark=mark,
        before=mark.value,
        value=Decimal(3),
        by=world.panelists[1].user,
        made_at=mark.made_at.replace(year=2100),
    )
    assert checking.check_sheets(world.tryout).grave, "other marks are another finding"


def test_a_correction_of_marks_that_changed_meanwhile_is_refused(
    world: TryoutWorld, cast: Cast
) -> None:
    mark = Mark.objects.earliest("pk")
    values = {mark.pk: Decimal(1)}
    asked = correcting.ask_correction(
        actor=cast.staff, tryout=world.tryout, reason="typo", values=values
    )
    MarkChange.objects.create(
        mark=mark,
        before=mark.value,
        value=Decimal(2),
        by=cast.evaluator,
        made_at=mark.made_at.replace(year=2100),
    )
    with pytest.raises(Refused, match="changed since"):
        correcting.answer(actor=cast.director, correction=asked, agreed=True)
    assert Correction.objects.get().answered_at is None
