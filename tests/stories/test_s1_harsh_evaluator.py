"""S1: one evaluator is harsh to half of the candidates; raw means would take the wrong one."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from roster.tryouts.core.cut import Group
from roster.tryouts.models import Candidate, TryoutCriterion, TryoutQuota, WantedPart
from roster.tryouts.services.callbacks import callback_list
from roster.tryouts.services.deciding import make_decision
from roster.tryouts.services.figures import Figures, figures_of
from tests.factories import Band, Cast, TryoutWorld, make_tryout

pytestmark = pytest.mark.django_db

ALL_BY_A = (88, 84, 81, 79, 86, 83, 80, 76)
FIRST_BY_B, LAST_BY_C = (90, 88, 85, 81), (79, 73, 70, 68)


@pytest.fixture
def world(band: Band, cast: Cast) -> TryoutWorld:
    """Eight candidates for four places of trumpet, one criterion out of a hundred."""
    made = make_tryout(band, cast.staff, people=8)
    made.tryout.candidates.all().delete()
    made.candidates.clear()
    made.criteria[1].delete()
    made.criteria[2].delete()
    TryoutCriterion.objects.filter(pk=made.criteria[0].pk).update(top=100)
    made.criteria = list(made.tryout.criteria.all())
    TryoutQuota.objects.all().delete()
    TryoutQuota.objects.create(
        tryout=made.tryout, part=band.parts["trumpet"], target=4, maximum=4, alternates=0
    )
    for n, member in enumerate(list(band.members.values())[:8]):
        it = Candidate.objects.create(tryout=made.tryout, person=member.person, number=801 + n)
        WantedPart.objects.create(candidate=it, part=band.parts["trumpet"], order=1)
        made.candidates.append(it)
    a, b, c, _ = made.panelists
    for it, value in zip(made.candidates, ALL_BY_A, strict=True):
        made.mark(it, a, made.sessions[0], value)
    for it, value in zip(made.candidates[:4], FIRST_BY_B, strict=True):
        made.mark(it, b, made.sessions[0], value)
    for it, value in zip(made.candidates[4:], LAST_BY_C, strict=True):
        made.mark(it, c, made.sessions[0], value)
    return made


def of(found: Figures, number: int) -> tuple[float | None, float | None]:
    line = next(line for line in found.lines if line.candidate.number == number)
    return line.raw, line.adjusted


@pytest.mark.source("Montgomery, Design and Analysis of Experiments: least squares by hand (S1)")
def test_raw_and_adjusted_stand_side_by_side(world: TryoutWorld) -> None:
    found = figures_of(world.tryout)
    assert [of(found, n)[0] for n in range(801, 809)] == [89, 86, 83, 80, 82.5, 78, 75, 72]
    adjusted = [of(found, n)[1] for n in range(801, 809)]
    expected = [85.583, 82.583, 79.583, 76.583, 84.958, 80.458, 77.458, 74.458]
    assert adjusted == pytest.approx(expected, abs=5e-4)
    offsets = {e.panelist.code: e.offset for e in found.evaluators}
    assert offsets == pytest.approx({"A": 23 / 12, "B": 59 / 12, "C": -41 / 6})


def test_the_harsh_evaluator_costs_nobody_their_place_by_itself(world: TryoutWorld) -> None:
    """801, 805, 802 are clear; 806 before 803 is too close to call: another look is proposed."""
    found = figures_of(world.tryout)
    assert found.fit is not None
    apart, error = found.fit.difference(5, 2)
    assert (apart, error) == pytest.approx((0.875, 1.058), abs=5e-4) and found.fit.freedom == 6
    groups = {line.candidate.number: line.group for line in found.lines}
    assert groups[801] is groups[805] is groups[802] is Group.IN
    assert groups[806] is groups[803] is Group.CLOSE
    called = {call.candidate.number for call in callback_list(found).calls}
    assert {803, 806} <= called
    assert found.tryout.state == "judging", "nothing is decided by itself"


def test_the_decision_says_why(world: TryoutWorld, cast: Cast) -> None:
    made = make_decision(actor=cast.staff, tryout=world.tryout, reason="806 was seen once more.")
    by_number = {o.candidate.number: o for o in made.offers.select_related("candidate", "part")}
    spots = {n for n, o in by_number.items() if o.kind == "spot"}
    assert spots == {801, 802, 805, 806}
    assert by_number[803].reason == "5th for 4 spots in Trumpet."


def test_the_page_names_its_method_and_shows_both(
    world: TryoutWorld, cast: Cast, signed_in: object
) -> None:
    client: Client = signed_in(cast.staff)  # type: ignore[operator]
    page = client.get(reverse("tryout-figures", args=[world.tryout.pk])).content.decode()
    assert "least squares" in page and "82.50" in page and "84.96" in page
    assert "too close to call" in page
