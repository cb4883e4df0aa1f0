"""Repair, alteration and cleaning: tickets, counting back, inspections, substitutes."""

from __future__ import annotations

import datetime

import pytest
from django.test import Client
from django.urls import reverse

from bandops.lib.errors import Refused
from roster.equipment.enums import ItemState
from roster.equipment.models import Inspection, Item, Run
from roster.equipment.services import issuing, work
from tests.factories import Band, Cast
from tests.factories.store import Store

pytestmark = pytest.mark.django_db


def state(tag: str) -> str:
    return Item.objects.get(tag=tag).state


def test_a_ticket_takes_the_item_away_and_gives_it_back_to_its_wearer(
    band: Band, store: Store
) -> None:
    store.give("J-1", band.members["Cai Ørnberg"])
    ticket = work.open_ticket(actor=store.actor, item=store.items["J-1"], work="altering")
    assert state("J-1") == ItemState.ALTERING
    with pytest.raises(Refused, match="cannot go away"):
        work.open_ticket(actor=store.actor, item=Item.objects.get(tag="J-1"), work="repair")
    work.close_ticket(actor=store.actor, ticket=ticket, condition=0, cents=1_200)
    assert state("J-1") == ItemState.ISSUED and ticket.cents == 1_200
    with pytest.raises(Refused, match="back already"):
        work.close_ticket(actor=store.actor, ticket=ticket)


def test_a_piece_turned_in_while_away_comes_back_to_the_store(band: Band, store: Store) -> None:
    store.give("J-1", band.members["Cai Ørnberg"])
    ticket = work.open_ticket(actor=store.actor, item=store.items["J-1"], work="cleaning")
    issuing.take_back(actor=store.actor, item=store.items["J-1"], condition=1)
    assert state("J-1") == ItemState.CLEANING
    work.close_ticket(actor=store.actor, ticket=ticket)
    assert state("J-1") == ItemState.IN_STORE


def test_counting_back_names_what_is_missing_and_whose_it_is(band: Band, store: Store) -> None:
    store.give("J-2", band.members["Hal Brook"])
    out = [store.items[t] for t in ("J-1", "J-2", "J-3")]
    run = work.send_out(actor=store.actor, work="cleaning", place="Corner laundry", items=out)
    counted = work.count_back(actor=store.actor, run=run, tags=["j 1", "J-1", "X-9"])
    assert [str(i) for i in counted.back] == ["J-1"] and counted.unknown == ("X-9",)
    assert {(str(i), str(m) if m else None) for i, m in counted.missing} == {
        ("J-2", "Hal Brook"),
        ("J-3", None),
    }
    assert Run.objects.get().closed_at is None
    lost = work.close_run(actor=store.actor, run=run)
    assert {str(i) for i in lost} == {"J-2", "J-3"}
    assert state("J-2") == state("J-3") == ItemState.MISSING


def test_all_back_closes_the_run(store: Store) -> None:
    run = work.send_out(
        actor=store.actor, work="cleaning", place="Laundry", items=[store.items["J-1"]]
    )
    assert not work.count_back(actor=store.actor, run=run, tags=["J-1"]).missing
    assert Run.objects.get().closed_at is not None


def test_what_cannot_go_out_stops_all_and_is_named(store: Store) -> None:
    work.open_ticket(actor=store.actor, item=store.items["J-1"], work="repair")
    with pytest.raises(Refused) as refused:
        work.send_out(
            actor=store.actor,
            work="cleaning",
            place="Laundry",
            items=[store.items["J-1"], store.items["J-2"]],
        )
    assert refused.value.details == ("J-1 is repair.",)
    assert state("J-2") == ItemState.IN_STORE and not Run.objects.exists()


def test_work_is_due_the_day_before_the_next_inspection(band: Band) -> None:
    season, today = band.season, band.season.starts
    assert work.due_by_default(season, today) is None
    Inspection.objects.create(season=season, date=today + datetime.timedelta(days=9))
    assert work.due_by_default(season, today) == today + datetime.timedelta(days=8)


def test_the_page_of_a_ticket_offers_what_fits_its_wearer_meanwhile(
    band: Band, store: Store, cast: Cast, client: Client
) -> None:
    store.give("J-2", band.members["Cai Ørnberg"])
    ticket = work.open_ticket(actor=store.actor, item=store.items["J-2"], work="repair")
    client.force_login(cast.equipment)
    page = client.get(reverse("equipment-ticket", args=[ticket.pk]))
    assert [item.tag for item, _ in page.context["substitutes"]] == ["J-1"]


def test_what_is_late_or_due_after_the_inspection_is_said(
    band: Band, store: Store, cast: Cast, client: Client
) -> None:
    today = band.season.today()
    day = datetime.timedelta(days=1)
    Inspection.objects.create(season=band.season, date=today + 3 * day)
    for tag, due in (("J-1", today - day), ("J-2", today + 3 * day), ("J-3", today + day)):
        work.open_ticket(actor=store.actor, item=store.items[tag], work="repair", due=due)
    client.force_login(cast.equipment)
    rows = client.get(reverse("equipment-work")).context["rows"]
    assert {t.item.tag: late for t, _, late in rows} == {
        "J-1": "late",
        "J-2": "after the inspection",
        "J-3": "",
    }
    to_do = client.get(reverse("equipment")).context["late"]
    assert [t.item.tag for t in to_do] == ["J-1", "J-2"]
    Inspection.objects.all().delete()
    assert [t.item.tag for t in client.get(reverse("equipment")).context["late"]] == ["J-1"]
