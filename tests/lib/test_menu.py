"""The bar, its tabs and what is pinned, for each role."""

from __future__ import annotations

import datetime

import pytest
import time_machine
from django.urls import reverse

from bandops.lib.web.menu import MOST_IN_THE_BAR, Menu
from tests.architecture.world import client_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db
TABS = {
    "Week": ["This week", "Events", "Rehearsals", "Absences", "Challenges", "Ready?"],
    "Lineup": ["Who marches", "Backups", "Game day", "Marching record", "Travel"],
    "People": ["Members", "Ranks", "Tryouts", "Music", "Equipment"],
    "Drill": ["Shows", "Fundamentals", "Sequences", "Field"],
    "Season": ["Set-up", "Import and export", "Roles", "History"],
}


def menu(cast: Cast, role: str, address: str) -> Menu:
    found = client_of(cast, role).get(reverse(address), follow=True).context["menu"]
    assert isinstance(found, Menu)
    return found


@pytest.mark.parametrize(
    ("area", "address"),
    [
        ("Week", "absences"),
        ("Lineup", "backups"),
        ("People", "ranks"),
        ("Drill", "sequences"),
        ("Season", "history"),
    ],
)
def test_five_areas_each_with_its_tabs(band: Band, cast: Cast, area: str, address: str) -> None:
    found = menu(cast, "director", address)
    assert [item.title for item in found.bar] == list(TABS)
    assert [item.title for item in found.bar if item.is_current] == [area]
    assert [item.title for item in found.tabs] == TABS[area]
    assert [item.url for item in found.tabs if item.is_current] == [reverse(address)]


def test_each_tab_is_a_page_of_its_own_area(band: Band, cast: Cast) -> None:
    client = client_of(cast, "director")
    for address in ("week", "who-marches", "people", "drill", "set-up"):
        tabs = menu(cast, "director", address).tabs
        for tab in tabs:
            page = client.get(tab.url, follow=True)
            assert page.status_code == 200, tab
            assert page.context["menu"].tabs[tabs.index(tab)].is_current, tab


@pytest.mark.parametrize("role", ["member", "leader", "evaluator", "equipment"])
def test_others_find_their_own_pages_in_the_bar(band: Band, cast: Cast, role: str) -> None:
    found = menu(cast, role, "me")
    assert 1 <= len(found.bar) <= MOST_IN_THE_BAR
    assert not {item.title for item in found.bar} & {"Week", "Lineup", "Drill", "Season"}
    assert not found.own and not found.pinned


def test_staff_who_march_find_their_own_pages_in_their_own_menu(band: Band, cast: Cast) -> None:
    member = band.members["Cai Ørnberg"]
    member.person.user = cast.staff
    member.person.save()
    found = menu(cast, "staff", "week")
    assert [item.title for item in found.bar] == list(TABS)
    assert "My spot" in [item.title for item in found.own]


def test_game_day_is_pinned_on_the_day_and_only_then(band: Band, cast: Cast) -> None:
    noon = datetime.datetime.combine(band.event.date, datetime.time(12), band.season.zone)
    for days, pinned in ((-1, []), (0, [reverse("desk-of", args=[band.event.pk])]), (1, [])):
        with time_machine.travel(noon + datetime.timedelta(days=days), tick=False):
            assert [item.url for item in menu(cast, "staff", "week").pinned] == pinned
            assert not menu(cast, "member", "card").pinned
