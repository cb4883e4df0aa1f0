"""The pages of the store: desk, fitting day, measurements, charges, prints."""

from __future__ import annotations

import datetime
import io
import re
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from roster.equipment import queries
from roster.equipment.models import Band as NamedSize
from roster.equipment.models import (
    Charge,
    Figure,
    InLine,
    Issue,
    Item,
    Kind,
    Measurement,
    Run,
    Ticket,
)
from roster.equipment.services.staleness import staleness
from tests.factories import Band, Cast
from tests.factories.store import Store

pytestmark = pytest.mark.django_db
SignIn = Callable[[User | None], Client]


@pytest.fixture
def manager(cast: Cast, signed_in: SignIn) -> Client:
    return signed_in(cast.equipment)


def text(response: Any) -> str:
    return " ".join(response.content.decode().split())


def plain(response: Any) -> str:
    """A page without its tags."""
    return " ".join(re.sub(r"<[^>]*>", " ", response.content.decode()).split())


def told(**more: object) -> dict[str, object]:
    return {"key": uuid.uuid4(), **more}


def hand_out(client: Client, tag: str, member: Any, **more: object) -> str:
    url = reverse("equipment-hand-out")
    return text(client.post(url, told(tag=tag, member=member.pk, **more), follow=True))


def test_the_desk_hands_out_and_says_what_is_odd(band: Band, store: Store, manager: Client) -> None:
    cai = band.members["Cai Ørnberg"]
    assert "Cai Ørnberg has Jacket J-1 (chest 40 in, sleeve 34 in)." in hand_out(
        manager, "j 1", cai
    )
    second = hand_out(manager, "J-3", cai)
    assert "has J-1 of this kind, too" in second
    assert "It does not fit as it is: chest 3 in too large." in second
    wrong = hand_out(manager, "X-77", cai)
    assert "No item has the tag “X-77”." in wrong
    other = hand_out(manager, "J-1", band.members["Hal Brook"])
    assert "J-1 is with Cai Ørnberg" in other


def test_a_label_that_is_scanned_opens_its_item(store: Store, manager: Client) -> None:
    item = reverse("equipment-item", args=[store.items["J-1"].pk])
    address = "http://testserver/equipment/tag/J1/"
    assert manager.get(reverse("equipment-find"), {"tag": address}).url == item  # type: ignore[attr-defined]
    assert manager.get("/equipment/tag/j1/").url == item  # type: ignore[attr-defined]
    page = manager.get(reverse("equipment-find"), {"tag": "nope"}, follow=True)
    assert "No item has the tag “nope”." in text(page)


def test_taking_back_says_what_is_left_and_can_be_undone(
    band: Band, store: Store, manager: Client
) -> None:
    cai = band.members["Cai Ørnberg"]
    hand_out(manager, "J-1", cai)
    hand_out(manager, "H-1", cai)
    page = manager.post(
        reverse("equipment-take-back"), told(tag="J-1", condition=2, note="Torn"), follow=True
    )
    assert "J-1 is back from Cai Ørnberg. They still have 1." in text(page)
    batch = AuditEntry.objects.exclude(batch="").latest("pk").batch
    assert f'value="{batch}"' in text(page), "the equipment manager may undo it"
    manager.post(reverse("take-back"), {"batch": batch})
    assert Issue.objects.get(item__tag="J-1").returned_at is None
    assert Item.objects.get(tag="J-1").state == "issued"


def test_the_equipment_manager_takes_back_nothing_but_the_stores(
    band: Band, cast: Cast, manager: Client, signed_in: SignIn
) -> None:
    url = reverse("instrument-new")
    signed_in(cast.staff).post(url, {"name": "Fife", "order": 9})
    batch = AuditEntry.objects.filter(table="people_instrument").latest("pk").batch
    page = manager.post(reverse("take-back"), {"batch": batch}, follow=True)
    assert "cannot be taken back here" in text(page)


def test_a_form_that_waited_on_the_device_arrives_once(
    band: Band, store: Store, manager: Client
) -> None:
    at = datetime.datetime(2026, 11, 1, 15, tzinfo=datetime.UTC).isoformat()
    sent = told(tag="J-1", member=band.members["Cai Ørnberg"].pk, noted_at=at, sent_at=at)
    url, headers = reverse("equipment-hand-out"), {"X-Queued": "later"}
    for _ in range(2):
        assert manager.post(url, sent, headers=headers).json()["state"] == "done"
    assert Issue.objects.count() == 1
    clash = told(tag="J-1", member=band.members["Hal Brook"].pk)
    answer = manager.post(url, clash, headers=headers)
    assert answer.status_code == 409 and "with Cai Ørnberg" in answer.json()["text"]


def test_fitting_day_one_after_the_other(band: Band, store: Store, manager: Client) -> None:
    cai, hal = band.members["Cai Ørnberg"], band.members["Hal Brook"]
    for member in (cai, hal):
        manager.post(reverse("equipment-line-join", args=[member.pk]))
        manager.post(reverse("equipment-line-join", args=[member.pk]))
    assert InLine.objects.count() == 2, "who waits keeps their place"
    page = manager.get(reverse("equipment-fit-member", args=[cai.pk]))
    jacket = next(o for o in page.context["offers"] if o.kind.name == "Jacket")
    assert [str(item) for item, *_ in jacket.pieces] == ["J-1", "J-2"]
    assert jacket.pieces[0][2] == "fits as it is"
    assert jacket.pieces[1][2] == "take in chest 1 in ($25.00)"
    hand_out(manager, "J-2", cai, note="take in chest 1 in")
    page = manager.get(reverse("equipment-fit-member", args=[cai.pk]))
    assert "to be altered: take in chest 1 in" in text(page)
    work = {"work": "altering", "what": "take in chest 1 in"}
    manager.post(reverse("equipment-item-work", args=[store.items["J-2"].pk]), work)
    assert Ticket.objects.get().what == "take in chest 1 in"
    done = manager.post(reverse("equipment-line-leave", args=[cai.pk]), {"on": "yes"})
    assert done.url == reverse("equipment-fit-member", args=[hal.pk])  # type: ignore[attr-defined]


def test_a_whole_kind_is_fitted_and_handed_out(band: Band, store: Store, manager: Client) -> None:
    kind = store.kinds["Jacket"]
    page = manager.get(reverse("equipment-fit", args=[kind.pk]))
    assert {str(p.member): str(p.item) for p in page.context["proposed"]} == {
        "Cai Ørnberg": "J-1",
        "Hal Brook": "J-3",
    }
    unmeasured = {str(x.member) for x in page.context["lacking"] if x.unmeasured}
    assert "Ana Núñez" in unmeasured
    pairs = [f"{p.member.pk}-{p.item.pk}" for p in page.context["proposed"]]
    manager.post(reverse("equipment-fit-out", args=[kind.pk]), {"pair": pairs})
    assert Issue.objects.count() == 2
    again = manager.post(reverse("equipment-fit-out", args=[kind.pk]), {"pair": pairs}, follow=True)
    assert "nothing to do" in text(again) or "is with" in text(again)
    assert Issue.objects.count() == 2
    nothing = manager.post(reverse("equipment-fit-out", args=[kind.pk]), {"pair": "x"}, follow=True)
    assert "Check who gets their piece now." in text(nothing)


def measure(client: Client, member: Any, **values: object) -> str:
    url = reverse("equipment-measure", args=[member.pk])
    return text(client.post(url, told(taken_on="2026-11-02", **values), follow=True))


def test_measuring_keeps_units_apart_and_each_look_is_noted(
    band: Band, store: Store, manager: Client
) -> None:
    ana = band.members["Ana Núñez"]
    measure(manager, ana, unit="in", chest="36 1/2", foot="8 1/2")
    rows = {m.measure: (m.words, m.unit) for m in Measurement.objects.filter(person=ana.person)}
    assert rows == {"chest": ("36 1/2 in", "in"), "foot": ("8 1/2", "number")}
    mixed = measure(manager, ana, unit="in", chest="93 cm")
    assert "“93 cm” is in centimeters; inches are asked." in mixed
    slip = measure(manager, ana, unit="in", chest="395")
    assert "can hardly be meant" in slip
    assert "Write at least one measurement." in measure(manager, ana, unit="in")
    assert Measurement.objects.filter(person=ana.person).count() == 2
    looks = AuditEntry.objects.filter(op="view", action="look at measurements")
    before = looks.count()
    manager.get(reverse("equipment-measure", args=[ana.pk]))
    assert looks.count() == before + 1


def test_another_unit_is_reckoned_only_when_asked(
    band: Band, store: Store, manager: Client
) -> None:
    ana, kind = band.members["Ana Núñez"], store.kinds["Jacket"]
    measure(manager, ana, unit="cm", chest="96.5", sleeve="85")
    page = manager.get(reverse("equipment-fit", args=[kind.pk]))
    lacking = {str(x.member): x.unmeasured for x in page.context["lacking"]}
    assert lacking["Ana Núñez"] == "chest, sleeve", "in another unit: not fitted by it"
    for row in Measurement.objects.filter(person=ana.person):
        manager.post(reverse("equipment-measure-convert", args=[ana.pk, row.pk]))
    made = {
        m.measure: m.words for m in Measurement.objects.filter(person=ana.person, converted=True)
    }
    assert made == {"chest": "38 in", "sleeve": "33 7/16 in"}
    page = manager.get(reverse("equipment-fit", args=[kind.pk]))
    assert "Ana Núñez" in {str(p.member) for p in page.context["proposed"]}


def test_old_measurements_are_to_be_taken_again_sooner_of_who_grows(
    band: Band, store: Store
) -> None:
    cai, hal = band.members["Cai Ørnberg"].person, band.members["Hal Brook"].person
    taken = Measurement.objects.filter(person=cai).earliest("pk").taken_on
    day = taken + queries.FRESH_GROWING + datetime.timedelta(days=1)
    assert not staleness([cai.pk], day)[cai.pk].is_to_take
    first = Measurement.objects.get(person=cai, measure="sleeve")
    Measurement.objects.create(
        person=cai, measure="sleeve", unit="in", ticks=first.ticks + 8, taken_on=taken
    )
    found = staleness([cai.pk, hal.pk, band.members["Ana Núñez"].person_id], day)
    assert found[cai.pk].growing and found[cai.pk].is_stale
    assert not found[hal.pk].is_stale
    assert found[band.members["Ana Núñez"].person_id].is_to_take, "never measured"
    year = taken + queries.FRESH + datetime.timedelta(days=1)
    assert staleness([hal.pk], year)[hal.pk].is_stale


def test_charges_are_for_the_member_the_keeper_and_the_director(
    band: Band, store: Store, cast: Cast, manager: Client, signed_in: SignIn
) -> None:
    hal = band.members["Hal Brook"]
    new = {"member": hal.pk, "item": "H-1", "cents": "90.00", "what": "Lost hat"}
    page = manager.post(reverse("equipment-charge-new"), new, follow=True)
    assert "Hal Brook owes $90.00." in text(page) and "was never theirs" in text(page)
    charge = Charge.objects.get()
    settle = reverse("equipment-charge-settle", args=[charge.pk])
    assert "Say why it is waived." in text(manager.post(settle, {"what": "waive"}, follow=True))
    manager.post(settle, {"what": "waive", "why": "It was found"})
    charge.refresh_from_db()
    assert (charge.state, charge.waived_for) == ("waived", "It was found")
    assert "waived already" in text(manager.post(settle, {"what": "paid"}, follow=True))
    assert "Lost hat" in text(signed_in(cast.other).get(reverse("my-equipment")))
    assert "Lost hat" not in text(signed_in(cast.member).get(reverse("my-equipment")))
    assert "Lost hat" in text(signed_in(cast.director).get(reverse("equipment-charges")))
    assert signed_in(cast.staff).get(reverse("equipment-charges")).status_code == 403
    history = text(signed_in(cast.staff).get(reverse("history")))
    assert "Lost hat" not in history and "90" not in history


def test_a_kind_with_figures_and_named_sizes(store: Store, manager: Client) -> None:
    form = {
        "name": "Boots",
        "use": "uniform",
        "order": 9,
        "spares": 1,
        "f-TOTAL_FORMS": 2,
        "f-INITIAL_FORMS": 0,
        "f-0-measure": "foot",
        "f-0-unit": "in",
        "f-0-step": "1/2",
        "f-1-measure": "height",
        "f-1-unit": "in",
        "f-1-bands": "short: 54-66; tall: 65-80",
    }
    url = reverse("equipment-kind-new")
    page = text(manager.post(url, form))
    assert "Shoes have size numbers" in page and "Please fix the sizes below" in page
    page = text(manager.post(url, form | {"f-0-unit": "number"}))
    assert "short and tall overlap." in page and not Kind.objects.filter(name="Boots").exists()
    manager.post(url, form | {"f-0-unit": "number", "f-1-bands": "short: 54-66; tall: 66-80"})
    kind = Kind.objects.get(name="Boots")
    assert Figure.objects.get(kind=kind, measure="foot").step == 1
    assert [b.name for b in NamedSize.objects.filter(figure__kind=kind)] == ["short", "tall"]
    again = text(manager.post(url, form | {"name": "boots", "f-0-unit": "number", "f-1-bands": ""}))
    assert "There is already a kind called “Boots”." in again
    foot, height = kind.figures.all()
    several = {
        "first": "B-09",
        "count": 3,
        "condition": 0,
        f"size_{foot.pk}": "9 1/2",
        f"size_{height.pk}": "Tall",
    }
    add = reverse("equipment-items-add", args=[kind.pk])
    manager.post(add, several)
    assert list(Item.objects.filter(kind=kind).values_list("tag", flat=True)) == [
        *("B-09", "B-10", "B-11")
    ]
    assert "is the tag of another item" in text(manager.post(add, several | {"count": 1}))
    assert "is none of the sizes short, tall" in text(
        manager.post(add, several | {"first": "B-20", f"size_{height.pk}": "huge"})
    )
    removed = manager.post(reverse("equipment-kind-remove", args=[kind.pk]), follow=True)
    assert "There are items of “Boots”: it stays." in text(removed)


def test_sending_out_takes_the_stores_alone_unless_said(
    band: Band, store: Store, manager: Client
) -> None:
    store.give("J-1", band.members["Cai Ørnberg"])
    jacket = store.kinds["Jacket"].pk
    url, form = reverse("equipment-run-new"), {"work": "cleaning", "place": "Laundry"}
    assert "No item has these tags." in text(
        manager.post(url, {**form, "whose": "store", "tags": "Z"})
    )
    assert "Choose what goes out." in text(manager.post(url, {**form, "whose": "store"}))
    manager.post(url, {**form, "whose": "store", "kinds": [jacket]})
    run = Run.objects.get()
    assert {t.item.tag for t in run.tickets.all()} == {"J-2", "J-3"}
    page = text(manager.post(reverse("equipment-run", args=[run.pk]), {"tags": "J-2, X-1"}))
    assert "1 came back." in page and "X-1" in page
    manager.post(reverse("equipment-run-close", args=[run.pk]))
    page = text(manager.get(reverse("equipment-run", args=[run.pk])))
    assert "Did not come back" in page and "J-3" in page
    assert "1 missing" in text(manager.get(reverse("equipment")))


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("equipment-issue-form", ["Cai Ørnberg", "J-1", "chest 40 in", "$320.00"]),
        ("equipment-out-print", ["Cai Ørnberg", "Jacket J-1"]),
        ("equipment-labels", ["J-1", "Jacket"]),
    ],
)
def test_the_prints(band: Band, store: Store, manager: Client, name: str, words: list[str]) -> None:
    cai = band.members["Cai Ørnberg"]
    store.give("J-1", cai)
    args = [cai.pk] if name == "equipment-issue-form" else []
    response = manager.get(reverse(name, args=args))
    found = "".join(p.extract_text() for p in PdfReader(io.BytesIO(response.content)).pages)
    for word in words:
        assert word in " ".join(found.split())


def test_the_list_of_items_is_found_by_tag_place_and_member(
    band: Band, store: Store, manager: Client
) -> None:
    store.give("J-1", band.members["Cai Ørnberg"])
    for asked, tags in (("j-1", ["J-1"]), ("ornberg", ["J-1"]), ("nobody", [])):
        page = manager.get(reverse("equipment-items"), {"q": asked})
        assert [item.tag for item, *_ in page.context["rows"]] == tags
    page = manager.get(reverse("equipment-items"), {"state": "issued"})
    assert [item.tag for item, *_ in page.context["rows"]] == ["J-1"]


def test_a_member_sees_their_own_things_and_measurements(
    band: Band, store: Store, cast: Cast, signed_in: SignIn
) -> None:
    store.give("J-1", band.members["Cai Ørnberg"])
    page = text(signed_in(cast.member).get(reverse("my-equipment")))
    assert "Jacket J-1" in page and "38 in" in page
    assert "You have jacket J-1" in plain(signed_in(cast.member).get(reverse("card")))
    for address in ("my-equipment", "card"):
        assert "J-1" not in text(signed_in(cast.other).get(reverse(address)))
