"""S10: an impossible step, two who bump, one who passes well clear: seen on the checks' page."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from drill.field.core.field import units
from drill.shows.models import Dot, DotMap, DrillSet, Position, Show, ShowVersion, StepLimit
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db

Point = tuple[float, float]
# (label, counts, a subset) and where each dot stands, in steps; A and B cross in the first
# eight counts of sixteen, C passes meanwhile, the sousaphone moves from set 2 to set 3.
SETS = (("1", 0, False), ("1A", 8, True), ("2", 8, False), ("3", 16, False))
DOTS: dict[str, tuple[Point, ...]] = {
    "A": ((0, 20), (8, 20), (16, 20), (16, 20)),
    "B": ((16, 20.5), (8, 20.5), (0, 20.5), (0, 20.5)),
    "C": ((8, 12), (8, 28), (8, 28), (8, 28)),
    "2-3": ((-40, 40), (-40, 40), (-40, 40), (-20, 55)),
}


@pytest.fixture
def version(band: Band) -> ShowVersion:
    show = Show.objects.get(name="Tidewheel")
    made = ShowVersion.objects.create(show=show, label="first", order=1)
    sets = [
        DrillSet.objects.create(version=made, order=n, label=label, counts=counts, is_subset=subset)
        for n, (label, counts, subset) in enumerate(SETS, 1)
    ]
    for label, points in DOTS.items():
        dot = Dot.objects.create(show=show, label=label)
        for drill_set, (x, y) in zip(sets, points, strict=True):
            Position.objects.create(set=drill_set, dot=dot, x=units(x), y=units(y))
    # The sousaphone's spot marches the dot of its own label; a trumpet marches A.
    DotMap.objects.create(show=show, spot=band.spots["1-1"], dot=Dot.objects.get(label="A"))
    return made


def lines(client: Client, version: ShowVersion, kind: str = "") -> list[tuple[str, str]]:
    page = client.get(reverse("version-checks", args=[version.pk]), {"kind": kind})
    return [(line["set"], line["words"]) for line in page.context["lines"]]


@pytest.mark.source("common practice, no source: 6-to-5 for a sousaphone, one step as the gap")
def test_the_impossible_step_and_the_two_who_bump(
    band: Band, version: ShowVersion, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    staff = signed_in(cast.staff)
    assert not [w for _, w in lines(staff, version, "step") if w.startswith("2-3")]
    sousaphone = band.parts["sousaphone"].instrument
    staff.post(
        reverse("step-limit-new"),
        {"instrument": sousaphone.pk, "direction": "", "from_tempo": 0, "largest_step": "6-to-5"},
    )
    assert StepLimit.objects.get().largest_step == 960
    ((at, words),) = [x for x in lines(staff, version, "step") if x[1].startswith("2-3")]
    assert at == "3"
    assert words == (
        "2-3: 25 steps in 16 counts is 5.12-to-5, 35.2 in a step (warned from 6-to-5); "
        "20 counts would be 6.4-to-5"
    )
    assert lines(staff, version, "close") == [("1A", "A and B: 0.5 step apart at count 8 of 8")]
    page = staff.get(reverse("version-checks", args=[version.pk]))
    assert page.context["lines"][0]["words"].startswith("A and B")
    assert (
        f"{reverse('show', args=[version.show_id])}?version={version.pk}&amp;set=1A&amp;near=A"
        in page.text
    )


def test_limits_are_changed_and_taken_away_on_their_page(
    band: Band, version: ShowVersion, cast: Cast, signed_in: Callable[[User | None], Client]
) -> None:
    staff = signed_in(cast.staff)
    page = staff.get(reverse("move-limits"))
    assert 'value="5-to-5"' in page.text, "36 inches is what is warned about at first"
    refused = staff.post(reverse("move-limits"), {"largest_step": "huge", "closest_gap": "1"})
    assert "Write the step as 6-to-5, or in inches as 30 in." in refused.text
    staff.post(reverse("move-limits"), {"largest_step": "30 in", "closest_gap": "0.5"})
    assert lines(staff, version, "close") == [], "0.5 step is not closer than 0.5"
    new = {"instrument": "", "direction": "backward", "from_tempo": 160, "largest_step": "8-to-5"}
    staff.post(reverse("step-limit-new"), new)
    again = staff.post(reverse("step-limit-new"), new)
    assert "There is already a limit for these" in again.text
    limit = StepLimit.objects.get()
    staff.post(reverse("step-limit", args=[limit.pk]), new | {"largest_step": "9-to-5"})
    limit.refresh_from_db()
    assert limit.largest_step == 640
    staff.post(reverse("step-limit-remove", args=[limit.pk]))
    assert not StepLimit.objects.exists()
