"""Words of ways against coordinates."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from drill.field.core.field import UNITS_PER_STEP
from drill.shows.models import Dot, DrillSet, Path, Position, Show, ShowVersion
from tests.answers import text
from tests.drill.fundamentals.fundamentals_help import staff
from tests.factories import Band

__all__ = ["staff"]

pytestmark = pytest.mark.django_db


@pytest.fixture
def show(band: Band) -> Show:
    """Two sets: 1-1 and 1-2 go eight steps back and eight to side 1, 1-2 one of them short."""
    made = Show.objects.create(season=band.season, name="Corners")
    version = ShowVersion.objects.create(show=made, label="1", order=1)
    sets = [
        DrillSet.objects.create(version=version, order=n, label=str(n), counts=16 * (n - 1))
        for n in (1, 2)
    ]
    for label, short in (("1-1", 0), ("1-2", 1)):
        dot = Dot.objects.create(show=made, label=label)
        for drawn, x, y in ((sets[0], 0, 30), (sets[1], short - 8, 38)):
            Position.objects.create(set=drawn, dot=dot, x=x * UNITS_PER_STEP, y=y * UNITS_PER_STEP)
    return made


def ask(staff: Client, show: Show, words: str, who: str) -> str:
    query = {"set": "2", "who": who, "facing": "back", "words": words}
    return text(staff.get(reverse("show-words", args=[show.pk]), query))


def test_words_are_compared_dot_by_dot(staff: Client, band: Band, show: Show) -> None:
    page = ask(staff, show, "forward 8, left flank, forward 8", f"rank-{band.ranks['1'].pk}")
    assert page.count("meets</span>") == 1
    assert page.count("off</span>") == 1
    assert "From where the words end, the coordinate is 1 step (22.5 in) to side 2." in page
    assert "move 3, forward march: steps of 19.69 in (9.14-to-5)." in page
    assert not Path.objects.exists()


def test_what_is_not_understood_is_named(staff: Client, show: Show) -> None:
    dot = show.dots.get(label="1-1")
    assert "“skip” is not understood" in ask(staff, show, "skip 8", f"dot-{dot.pk}")
    assert "not a whole number" in ask(staff, show, "forward 7.5", f"dot-{dot.pk}")


def test_counts_that_do_not_add_up_are_told(staff: Client, show: Show) -> None:
    dot = show.dots.get(label="1-1")
    page = ask(staff, show, "forward 8, left flank, forward 8, mark time 4", f"dot-{dot.pk}")
    assert "4 counts more than the set has." in page


def test_words_are_kept_and_coordinates_stay(staff: Client, show: Show) -> None:
    dot = show.dots.get(label="1-1")
    before = list(Position.objects.values_list("x", "y"))
    url = reverse("show-words-keep", args=[show.pk])
    sent = {"set": "2", "who": f"dot-{dot.pk}", "words": "facing back, forward 8, lf 8"}
    staff.post(url, sent | {"what": "words"})
    assert Path.objects.get().words == "facing back, forward 8, lf 8"
    staff.post(url, sent | {"what": "curve"})
    path = Path.objects.get()
    assert (path.words, path.curved) == ("", True)
    staff.post(url, sent | {"what": "straight"})
    assert not Path.objects.exists()
    staff.post(url, sent | {"what": "words", "words": "skip 3"})
    staff.post(url, sent | {"what": "words", "set": "1"})
    assert not Path.objects.exists()
    assert list(Position.objects.values_list("x", "y")) == before
