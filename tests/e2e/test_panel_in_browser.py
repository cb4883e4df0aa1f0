"""The panel of a spot: always in view, searched by typing, there again after an action."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from tests.e2e.conftest import OpenPage, Watched, Week

pytestmark = pytest.mark.django_db(transaction=True)
SHORT = {"width": 1440, "height": 480}
"""a window in which the ranks are longer than the page"""


@pytest.fixture
def lineup(open_page: OpenPage, week: Week) -> Watched:
    for n in range(14):
        member = week.band.member(f"Ned Ward{'abcdefghijklmn'[n]}", "trumpet")
        week.band.alternate("2", "trumpet", member, n + 20)
    opened = open_page(week.cast.staff)
    opened.page.set_viewport_size(SHORT)  # type: ignore[arg-type]
    opened.go(reverse("lineup", args=[week.band.event.pk]))
    return opened


def choose(page: Page, spot: str) -> None:
    page.locator(".matrix a").filter(has_text=f"{spot} ").click()
    expect(page.locator(".htmx-request")).to_have_count(0)
    expect(page.locator("#panel h2").first).to_contain_text(spot)


def in_view(page: Page, selector: str) -> bool:
    box = page.locator(selector).first.bounding_box()
    assert box is not None
    return box["y"] >= 0 and box["y"] + min(box["height"], 60) <= SHORT["height"]


def test_the_panel_stays_in_view_and_scrolls_by_itself(lineup: Watched) -> None:
    page = lineup.page
    choose(page, "2-2")
    page.evaluate("scrollTo(0, document.body.scrollHeight / 3)")
    for spot in ("2-2", "1-1"):
        page.locator(".matrix a").filter(has_text=f"{spot} ").scroll_into_view_if_needed()
        choose(page, spot)
        assert in_view(page, "#panel h2")
    panel = page.locator("#panel").bounding_box()
    assert panel is not None and panel["height"] <= SHORT["height"]
    assert page.evaluate("panel.scrollHeight > panel.clientHeight")
    marked = page.locator(".matrix a[aria-current]")
    expect(marked).to_have_count(1)
    expect(marked).to_contain_text("1-1")
    lineup.quiet()


def test_many_candidates_are_found_by_typing(lineup: Watched) -> None:
    page = lineup.page
    choose(page, "2-2")
    expect(page.locator("#panel > div > div > .who-could > li")).to_have_count(3)
    page.locator(".who-others summary").first.click()
    page.get_by_label("Find a member").fill("wardk")
    shown = page.locator(".who-others li[data-name]:visible")
    expect(shown).to_have_count(1)
    expect(shown).to_contain_text("Ned Wardk")
    expect(page.locator(".who-others [role=status]")).to_contain_text("1 of")
    lineup.quiet()


def test_after_an_action_the_page_is_where_it_was(lineup: Watched) -> None:
    page = lineup.page
    choose(page, "2-2")
    page.evaluate("scrollTo(0, 300)")
    page.evaluate("addEventListener('submit', () => sessionStorage.setItem('y', scrollY), true)")
    page.locator(".who-others summary").first.click()
    page.get_by_label("Find a member").fill("wardc")
    page.get_by_role("button", name="Put Ned Wardc at 2-2").click()
    page.wait_for_url("**spot=**")
    expect(page.locator(".htmx-request")).to_have_count(0)
    expect(page.locator("#panel h2").first).to_be_focused()
    expect(page.locator("#panel")).to_contain_text("Ned Wardc (stands in for Gus Tamm) marches it")
    said = page.locator("#messages > .note")
    expect(said).to_contain_text("2-2 in Pregame: Ned Wardc.")
    expect(said.get_by_role("button", name="Undo")).to_be_in_viewport()
    before = page.evaluate("Number(sessionStorage.getItem('y'))")
    assert before and page.evaluate("scrollY") == before
    lineup.quiet()


def test_a_segment_sets_its_event_and_an_event_its_segments(
    open_page: OpenPage, week: Week
) -> None:
    opened = open_page(week.cast.staff)
    page = opened.go(reverse("absence-new"))
    event, segment = page.get_by_label("Event"), page.get_by_label("Segment")
    event.select_option("")
    segment.select_option(str(week.band.halftime.pk))
    expect(event).to_have_value(str(week.band.event.pk))
    other = page.locator("#id_event option").nth(2)
    if other.count():
        event.select_option(other.get_attribute("value"))
        expect(segment).to_have_value("")
    opened.quiet()
