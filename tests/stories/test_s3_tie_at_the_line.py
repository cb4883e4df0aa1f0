"""S3: sixth and seventh are equal: nothing is posted until the tie order or a look settles it."""

from __future__ import annotations

import pytest

from bandops.lib.errors import Refused
from roster.tryouts.models import Candidate, TryoutQuota, WantedPart
from roster.tryouts.services.deciding import make_decision
from roster.tryouts.services.figures import figures_of
from tests.factories import Band, Cast, TryoutWorld, make_tryout

pytestmark = pytest.mark.django_db


@pytest.fixture
def world(band: Band, cast: Cast) -> TryoutWorld:
    """Six places; 106 and 107 both have 84.25, with equal marks in every criterion."""
    made = make_tryout(band, cast.staff, people=8)
    TryoutQuota.objects.all().delete()
    TryoutQuota.objects.create(
        tryout=made.tryout, part=band.parts["trumpet"], target=6, maximum=7, alternates=0
    )
    WantedPart.objects.all().delete()
    for n, it in enumerate(made.candidates):
        WantedPart.objects.create(candidate=it, part=band.parts["trumpet"], order=1)
        level = 8.425 if n in (5, 6) else 9.6 - 0.2 * n
        for panelist in made.panelists[:3]:
            made.mark(it, panelist, made.sessions[0], *[level] * 3)
    return made


def test_a_tie_blocks_the_decision_and_is_named(world: TryoutWorld, cast: Cast) -> None:
    with pytest.raises(Refused) as refused:
        make_decision(actor=cast.staff, tryout=world.tryout, reason="")
    [text] = refused.value.details
    assert "106 and 107" in text or ("106" in text and "107" in text)
    assert "nothing breaks ties" in text and "fill 7 spots" in text


def test_new_numbers_and_another_order_change_nothing(world: TryoutWorld) -> None:
    before = figures_of(world.tryout).selection.ties
    for n, it in enumerate(reversed(world.candidates)):
        Candidate.objects.filter(pk=it.pk).update(number=501 + n)
    assert figures_of(world.tryout).selection.ties == before


def test_another_look_settles_it(world: TryoutWorld, cast: Cast) -> None:
    sixth, seventh = world.candidates[5], world.candidates[6]
    fourth, session = world.panelists[3], world.sessions[1]
    world.mark(sixth, fourth, session, 8, 8, 8)
    world.mark(seventh, fourth, session, 9, 9, 9)
    made = make_decision(actor=cast.staff, tryout=world.tryout, reason="callback")
    spots = set(made.offers.filter(kind="spot").values_list("candidate", flat=True))
    assert seventh.pk in spots and sixth.pk not in spots


def test_the_published_tie_order_settles_it(world: TryoutWorld, cast: Cast) -> None:
    """The same figure by other marks: more in flanks, less in slides."""
    seventh = world.candidates[6]
    world.tryout.tie_order = [world.criteria[0].pk]
    world.tryout.save()
    for mark in seventh.marks.select_related("criterion"):
        more = {"Flanks": 0.25, "Slides": -0.25}.get(mark.criterion.name, 0)
        type(mark).objects.filter(pk=mark.pk).update(value=float(mark.value or 0) + more)
    made = make_decision(actor=cast.staff, tryout=world.tryout, reason="")
    spots = set(made.offers.filter(kind="spot").values_list("candidate", flat=True))
    assert seventh.pk in spots and world.candidates[5].pk not in spots
