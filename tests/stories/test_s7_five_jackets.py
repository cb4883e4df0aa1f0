"""S7: five jackets for five; three are given unluckily, and one move dresses the last."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.accounts.models import User
from roster.equipment.core.fitting import fit_all
from roster.equipment.models import Figure, Issue
from roster.equipment.services.fitting import People, build, needing
from tests.factories import Band, Cast
from tests.factories.store import Store, make_store

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]

FIVE = {
    "Ana Núñez": 38,
    "Bo Larkspur": 38,
    "Cai Ørnberg": 40,
    "Dee Quill": 40,
    "Eno Farrow": 42,
}
"""chest of P1 to P5: windows 38-40, 38-40, 40-42, 40-42, 42"""


@pytest.fixture
def store(band: Band, cast: Cast) -> Store:
    """A jacket fits from the chest itself to two inches more; stock 38, 40, 40, 42, 42."""
    made = make_store(cast.equipment)
    jacket = made.kinds["Jacket"]
    jacket.figures.get(measure="sleeve").delete()
    Figure.objects.filter(kind=jacket).update(ease_from=0, ease_to=32, let_out=0, take_in=0)
    for tag, chest in (("A", 38), ("B", 40), ("C", 40), ("D", 42), ("E", 42)):
        made.item("Jacket", tag, chest=chest)
    for name, chest in FIVE.items():
        made.measured(band.members[name], chest=chest)
    return made


def test_everybody_fits(band: Band, store: Store) -> None:
    members = [band.members[n] for n in FIVE]
    kind = store.kinds["Jacket"]
    who = needing(band.season, kind, members)
    assert not fit_all(build(kind, People(who)).problem).unfitted


def test_the_one_move_is_named_on_the_page_and_dresses_the_last(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    for tag, name in (("B", "Dee Quill"), ("C", "Cai Ørnberg"), ("A", "Bo Larkspur")):
        store.give(tag, band.members[name])
    store.give("D", band.members["Eno Farrow"])
    client, ana = signed_in(cast.equipment), band.members["Ana Núñez"]
    page = " ".join(
        client.get(reverse("equipment-fit-member", args=[ana.pk])).content.decode().split()
    )
    assert "One way to free one:" in page
    assert "Cai Ørnberg: change to E (chest 42 in)" in page
    assert "Ana Núñez: take C (chest 40 in)" in page
    for address, told in (
        ("equipment-take-back", {"tag": "C", "condition": 1}),
        ("equipment-hand-out", {"tag": "E", "member": band.members["Cai Ørnberg"].pk}),
        ("equipment-hand-out", {"tag": "C", "member": ana.pk}),
    ):
        key = f"00000000-0000-4000-8000-{abs(hash((address, told['tag']))) % 10**12:012d}"
        client.post(reverse(address), {"key": key, **told})
    out = {i.item.tag: i.member.name for i in Issue.objects.filter(returned_at__isnull=True)}
    assert out["C"] == "Ana Núñez" and out["E"] == "Cai Ørnberg" and len(out) == 5
