"""Two people fill two open spots with one alternate, one of them without network."""

from __future__ import annotations

import uuid
from dataclasses import replace

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from drill.gameday.models import Clash, DayChange
from drill.gameday.services.desk import Wish
from drill.gameday.services.fills import fill
from drill.lineup import queries as lineup_queries
from tests.e2e.conftest import PHONE, OpenPage, Week
from tests.e2e.test_no_network import at, back, cut, wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)
KIT = "Kit Moss"


def now(week: Week, out: str | None, into: str | None, spot: str | None = None) -> DayChange:
    """Somebody with network does it at once."""
    members, seen = week.band.members, lineup_queries.published(week.band.event)
    assert seen is not None and seen.number is not None
    made = Wish(None, None, None, seen.number, uuid.uuid4(), timezone.now())
    made = replace(made, out=members[out] if out else None, into=members[into] if into else None)
    made = replace(made, spot=week.band.spots[spot] if spot else None)
    change = fill(actor=week.cast.staff, event=week.band.event, wish=made).change
    assert change is not None
    return change


def test_one_alternate_for_two_open_spots_is_one_card(open_page: OpenPage, week: Week) -> None:
    for name in ("Gus Tamm", "Bo Larkspur"):
        now(week, name, None)
    phone = open_page(week.cast.director, PHONE, service_workers="allow")
    page = phone.go("/desk/")
    wait_until_kept(page, "/desk/")
    cut(phone)
    page.goto(phone.base + "/desk/")
    page.get_by_role("link", name="Fill 2-2").click()
    page.get_by_role("button", name=f"{KIT} steps in").click()
    expect(page.get_by_text("1 change waits on this phone")).to_be_visible()
    now(week, None, KIT, "1-2")
    back(page)
    expect(page.get_by_text("already marches another spot").first).to_be_visible(timeout=20_000)
    assert Clash.objects.count() == 1 and (at(week, "1-2"), at(week, "2-2")) == (KIT, "nobody")
    page = phone.go("/desk/")
    expect(page.get_by_role("heading", name=f"{KIT} for two spots")).to_be_visible()
    expect(page.get_by_text(f"Choosing {KIT} for 2-2 opens 1-2")).to_be_visible()
    page.get_by_role("button", name=f"{KIT} to 2-2").click()
    expect(page.get_by_text(f"2-2: {KIT} marches. The spot they left is open")).to_be_visible()
    expect(page.get_by_role("link", name="Fill 1-2")).to_be_visible()
    assert (at(week, "1-2"), at(week, "2-2")) == ("nobody", KIT)
