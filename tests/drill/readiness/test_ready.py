"""Ready for an event: who lacks what, what the store brings, what goes on the truck."""

from __future__ import annotations

import io
from collections.abc import Callable

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.accounts.models import User
from drill.lineup.models import Backup
from drill.outfits.services.setting import set_worn
from drill.readiness.models import Loaded
from drill.readiness.services.ready import ready_for
from drill.readiness.services.truck import load, load_list, unload
from roster.equipment.models import Issue, Item
from tests.architecture.world import publish
from tests.factories import Band, Cast
from tests.factories.store import Store, make_store

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def store(band: Band, cast: Cast) -> Store:
    """Cai is out and Ida stands in. She lacks a jacket, and one in store fits; so does Jon, first
    backup of 1-1, for whom nothing is left. Hal has no sousaphone; one is with Kit."""
    made = make_store(cast.equipment, band.parts["sousaphone"].instrument)
    for n, (name, member) in enumerate(band.members.items()):
        made.measured(member, chest=38, sleeve=33.5)
        if name not in ("Ida Voss", "Jon Pell"):
            made.item("Jacket", f"J-{n}", chest=40, sleeve=34)
            made.give(f"J-{n}", member)
    made.item("Jacket", "SPARE", chest=40, sleeve=34)
    made.item("Sousaphone", "SO-1")
    made.item("Podium", "P-1")
    set_worn(actor=cast.staff, of=band.event, kinds={made.kinds["Jacket"]: []})
    cai = band.members["Cai Ørnberg"]
    cai.cleared = "no"
    cai.save()
    Backup.objects.create(spot=band.spots["1-1"], member=band.members["Jon Pell"], order=1)
    publish(band, cast.staff)
    return made


def test_who_marches_and_lacks_something_with_the_piece_that_would_do(
    band: Band, store: Store
) -> None:
    ready = ready_for(band.event)
    found = {
        (str(r.member), r.spots): [(n.kind.name, str(n.item)) for n in r.needs] for r in ready.rows
    }
    assert found == {
        ("Ida Voss", "1-3"): [("Jacket", "SPARE")],
        ("Hal Brook", "2-3"): [("Sousaphone", "SO-1")],
    }
    (backup,) = ready.backups
    assert str(backup.member) == "Jon Pell" and backup.spots == "1-1"
    assert backup.needs[0].item is None, "the spare is Ida's"


def test_an_instrument_is_taken_over_from_somebody_who_does_not_march(
    band: Band, store: Store
) -> None:
    store.give("SO-1", band.members["Kit Moss"])
    (row,) = [r for r in ready_for(band.event).rows if str(r.member) == "Hal Brook"]
    assert str(row.needs[0].item) == "SO-1"
    assert row.needs[0].taken_from == band.members["Kit Moss"]


def test_handing_out_from_the_page_makes_ready(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    client, url = signed_in(cast.equipment), reverse("readiness", args=[band.event.pk])
    page = client.get(url)
    assert "SPARE" in page.content.decode()
    told = {"key": page.context["key"](), "tag": "SPARE", "next": url}
    told["member"] = band.members["Ida Voss"].pk
    assert client.post(reverse("equipment-hand-out"), told).url == url  # type: ignore[attr-defined]
    assert Issue.objects.filter(item__tag="SPARE", member=band.members["Ida Voss"]).exists()
    assert [str(r.member) for r in ready_for(band.event).rows] == ["Hal Brook"]


def test_excusing_from_the_page(band: Band, store: Store, cast: Cast, signed_in: SignIn) -> None:
    ida, jacket = band.members["Ida Voss"].pk, store.kinds["Jacket"].pk
    client, url = signed_in(cast.equipment), reverse("readiness-excuse", args=[band.event.pk])
    client.post(url, {"member": ida, "kind": jacket})
    assert [str(r.member) for r in ready_for(band.event).rows] == ["Hal Brook"]
    client.post(url, {"member": ida, "kind": jacket, "back": "yes"})
    assert len(ready_for(band.event).rows) == 2


def test_a_rank_leader_sees_their_rank_without_sizes_and_tags(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    page = signed_in(cast.leader).get(reverse("readiness", args=[band.event.pk])).content.decode()
    assert "Ida Voss" in page and "no jacket" in page
    assert "Hal Brook" not in page, "of another rank"
    assert "SPARE" not in page and "chest" not in page


def test_the_load_list_has_what_those_who_march_need(band: Band, store: Store, cast: Cast) -> None:
    store.item("Sousaphone", "SO-2")
    store.give("SO-2", band.members["Hal Brook"])
    loads = {of.kind.name: of for of in load_list(ready_for(band.event))}
    assert [(str(x.item), str(x.member)) for x in loads["Sousaphone"].lines] == [
        ("SO-2", "Hal Brook")
    ]
    assert [str(x.item) for x in loads["Podium"].lines] == ["P-1"]
    so2 = Item.objects.get(tag="SO-2")
    assert load(actor=cast.equipment, event=band.event, items=[so2]) == 1
    assert load(actor=cast.equipment, event=band.event, items=[so2]) == 0, "once"
    assert unload(actor=cast.equipment, event=band.event, items=[so2]) == 1
    (line,) = next(o for o in load_list(ready_for(band.event)) if o.kind.name == "Sousaphone").lines
    assert line.state == "back"


def test_who_plays_their_own_is_named_and_loads_nothing_of_the_schools(
    band: Band, store: Store
) -> None:
    band.members["Hal Brook"].qualifications.update(own_instrument=True)
    ready = ready_for(band.event)
    assert [str(r.member) for r in ready.rows] == ["Ida Voss"]
    (horns,) = [of for of in load_list(ready) if of.kind.name == "Sousaphone"]
    assert horns.lines == () and [str(m) for m in horns.own] == ["Hal Brook"]


def test_several_boxes_at_once_also_as_a_waiting_form_sends_them(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    podium, horn = (Item.objects.get(tag=t).pk for t in ("P-1", "SO-1"))
    client, url = signed_in(cast.equipment), reverse("truck", args=[band.event.pk])
    client.post(url, {"item": f"{podium},{horn}", "what": "out"}, headers={"X-Queued": "1"})
    assert Loaded.objects.count() == 2
    client.post(url, {"item": [podium, horn], "what": "back"})
    assert Loaded.objects.filter(back_at__isnull=False).count() == 2
    page = client.post(url, {"what": "out"}, follow=True)
    assert "Check what is loaded or unloaded." in page.content.decode()


@pytest.mark.parametrize(
    ("name", "words"),
    [("bring-print", ["Ida Voss, 1-3", "SPARE"]), ("load-print", ["Podium", "P-1"])],
)
def test_the_prints_name_tags_and_people(
    band: Band, store: Store, cast: Cast, signed_in: SignIn, name: str, words: list[str]
) -> None:
    response = signed_in(cast.equipment).get(reverse(name, args=[band.event.pk]))
    text = "".join(p.extract_text() for p in PdfReader(io.BytesIO(response.content)).pages)
    for word in words:
        assert word in " ".join(text.split())
