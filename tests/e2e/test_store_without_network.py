"""A store room without network: what is handed out waits on the device, and two desks never merge
into one piece with two people."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from drill.readiness.models import Loaded
from roster.equipment.models import Issue, Item
from tests.e2e.conftest import OpenPage, Week
from tests.e2e.test_no_network import back, cut, wait_until_kept
from tests.factories.store import Store, make_store

pytestmark = pytest.mark.django_db(transaction=True)
TABLET = {"width": 820, "height": 1180}


@pytest.fixture
def store(week: Week) -> Store:
    made = make_store(week.cast.equipment, week.band.parts["sousaphone"].instrument)
    for tag in ("J-1", "J-2"):
        made.item("Jacket", tag, chest=40, sleeve=34)
    for tag in ("P-1", "P-2"):
        made.item("Podium", tag)
    return made


def hand_out(page: Page, tag: str, member: int) -> None:
    form = page.locator("form[action$='/desk/out/']")
    form.get_by_label("Tag").fill(tag)
    form.locator("select[name=member]").select_option(value=str(member), force=True)
    form.get_by_role("button", name="Hand out").click()


def test_a_piece_is_handed_out_without_network_and_arrives_once(
    open_page: OpenPage, week: Week, store: Store
) -> None:
    desk = open_page(week.cast.equipment, viewport=TABLET, service_workers="allow")
    address = reverse("equipment-desk")
    page = desk.go(address)
    wait_until_kept(page, address)
    cut(desk)
    cai, hal = (week.band.members[n] for n in ("Cai Ørnberg", "Hal Brook"))
    hand_out(page, "J-1", cai.pk)
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    expect(page.locator("#queue")).to_contain_text("J-1")
    page.goto(desk.base + address)
    hand_out(page, "J-2", cai.pk)
    assert not Issue.objects.exists()
    # Meanwhile another desk, with network, gives the second jacket to somebody else.
    store.give("J-2", hal)
    back(page)
    expect(page.locator("#queue")).to_contain_text("J-2 is with Hal Brook", timeout=20_000)
    assert {(i.item.tag, i.member) for i in Issue.objects.all()} == {("J-1", cai), ("J-2", hal)}
    page.get_by_role("button", name="Correct it").click()
    form = page.locator("form[action$='/desk/out/']")
    expect(form.get_by_label("Tag")).to_have_value("J-2")
    assert form.locator("select[name=member]").input_value() == str(cai.pk)


def test_several_boxes_of_the_load_list_go_together(
    open_page: OpenPage, week: Week, store: Store
) -> None:
    opened = open_page(week.cast.equipment, viewport=TABLET)
    page = opened.go(reverse("truck", args=[week.band.event.pk]))
    for tag in ("P-1", "P-2"):
        page.get_by_label(f"Podium {tag}").check()
    page.get_by_role("button", name="Checked is on the truck").first.click()
    expect(page.get_by_text("On the truck: 2 more.")).to_be_visible()
    assert Loaded.objects.count() == 2
    assert Item.objects.filter(loaded__isnull=False).count() == 2
