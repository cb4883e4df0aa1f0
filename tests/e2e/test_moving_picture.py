"""The moving picture of a show: by mouse, by keyboard, at rest for those who want no motion."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page, expect

from tests.e2e.conftest import PHONE, WIDE, OpenPage, Week

pytestmark = pytest.mark.django_db(transaction=True)


def dots(page: Page) -> str:
    return page.locator(".field-picture .dots").get_attribute("d") or ""


def test_it_plays_and_the_table_follows_when_it_rests(week: Week, open_page: OpenPage) -> None:
    staff = open_page(week.cast.staff, WIDE, reduced_motion="no-preference")
    page = staff.go(f"/shows/{week.show.pk}/?set=2")
    before = dots(page)
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Stop")).to_be_visible()
    expect(page.locator("output")).to_contain_text("Set 3, count 2", timeout=20_000)
    assert dots(page) != before
    page.get_by_role("button", name="Stop").click()
    expect(page.locator("#frame-table caption")).to_contain_text("Set 3, after count")
    expect(page.locator("output")).to_contain_text("Set 3, count")
    staff.quiet()


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_the_keyboard_goes_count_by_count(week: Week, open_page: OpenPage, width: int) -> None:
    staff = open_page(week.cast.staff, width)
    page = staff.go(f"/shows/{week.show.pk}/?set=2&count=0")
    expect(page.get_by_role("button", name="Play")).to_be_hidden()
    before = dots(page)
    page.get_by_role("button", name="One count on").press("Enter")
    expect(page.locator("#frame-table caption")).to_have_text("Set 2, after count 1 of 16")
    assert dots(page) != before
    page.get_by_role("button", name="One count back").press("Space")
    assert dots(page) == before
    slider = page.get_by_role("slider", name="Count of the show")
    slider.focus()
    slider.press("End")
    expect(slider).to_have_attribute("aria-valuetext", "Set 3, count 16 of 16")
    slider.press("ArrowLeft")
    expect(slider).to_have_attribute("aria-valuetext", "Set 3, count 15 of 16")
    staff.quiet()


def test_links_do_the_same_without_scripts(week: Week, open_page: OpenPage) -> None:
    staff = open_page(week.cast.staff, WIDE, java_script_enabled=False)
    page = staff.page
    page.goto(f"{staff.base}/shows/{week.show.pk}/?set=2")
    before = dots(page)
    page.get_by_role("link", name="One count back").click()
    expect(page.locator("#frame-table caption")).to_have_text("Set 2, after count 15 of 16")
    assert dots(page) != before
    page.get_by_role("link", name="Set 3").click()
    expect(page.locator("#frame-table caption")).to_have_text("Set 3")


def test_a_member_moves_their_own_way_on_a_phone(week: Week, open_page: OpenPage) -> None:
    member = open_page(week.cast.other, PHONE)
    page = member.go("/card/")
    page.get_by_role("link", name="My set sheet, moving").first.click()
    me = page.locator(".field-picture .me").locator("..")
    before = me.get_attribute("transform")
    page.get_by_role("button", name="One count on").click()
    expect(me).not_to_have_attribute("transform", before or "")
    assert member.own_bytes() < 50_000
    member.quiet()


def test_a_close_picture_goes_along(week: Week, open_page: OpenPage) -> None:
    staff = open_page(week.cast.staff, WIDE)
    page = staff.go(f"/shows/{week.show.pk}/?set=1&near=1-2")
    slider = page.get_by_role("slider", name="Count of the show")
    for _ in range(32):
        slider.press("ArrowRight")
        inside = page.evaluate("""() => {
          const frame = document.querySelector("svg.field-picture").getBoundingClientRect();
          const me = document.querySelector(".me").getBoundingClientRect();
          const across = me.left > frame.left && me.right < frame.right;
          return across && me.top > frame.top && me.bottom < frame.bottom;
        }""")
        assert inside
    staff.quiet()
