"""The moving picture of a show: by mouse, by keyboard, at rest for those who want no motion."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Page, expect

from drill.field.models import DrillSettings
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Week
from tests.e2e.looking import OWN_BYTES

pytestmark = pytest.mark.django_db(transaction=True)


def dots(page: Page) -> str:
    return page.locator(".field-picture .dots").get_attribute("d") or ""


def test_it_plays_and_the_table_follows_when_it_rests(week: Week, open_page: OpenPage) -> None:
    staff = open_page(week.cast.staff, WIDE, reduced_motion="no-preference")
    page = staff.go(f"/shows/{week.show.pk}/?set=2")
    before = dots(page)
    page.get_by_label("Speed").select_option(".5")
    page.get_by_role("button", name="Play").click()
    expect(page.get_by_role("button", name="Pause")).to_be_visible()
    expect(page.locator("#now")).to_have_text(re.compile("Set 3, count [2-9]"), timeout=20_000)
    assert dots(page) != before
    page.get_by_role("button", name="Pause").click()
    expect(page.locator("#frame-table caption")).to_contain_text("Set 3, after count")
    expect(page.locator("#now")).to_contain_text("Set 3, count")
    expect(page).to_have_url(re.compile(r"set=3&count=\d+$"))
    staff.quiet()


def test_without_motion_it_plays_from_set_to_set(week: Week, open_page: OpenPage) -> None:
    staff = open_page(week.cast.staff, WIDE)
    page = staff.go(f"/shows/{week.show.pk}/?set=2&count=0")
    before = dots(page)
    page.get_by_label("Speed").select_option("4")
    page.get_by_role("button", name="Play").click()
    page.wait_for_timeout(300)
    assert dots(page) == before, "nobody is seen on the way"
    expect(page.locator("#now")).to_contain_text("Set 2, count 16 of 16", timeout=20_000)
    assert dots(page) != before
    staff.quiet()


def test_picture_table_and_address_keep_step(week: Week, open_page: OpenPage) -> None:
    staff = open_page(week.cast.staff, WIDE)
    page = staff.go(f"/shows/{week.show.pk}/?set=1&near=1-2")
    here = page.locator("[data-row][aria-current]")
    expect(here).to_have_attribute("data-row", "1")
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    page.keyboard.press("Shift+ArrowRight")
    expect(here).to_have_attribute("data-row", "2")
    page.locator(".field-picture").focus()
    page.keyboard.press("PageDown")
    expect(here).to_have_attribute("data-row", "3")
    expect(page.locator("#frame-table caption")).to_have_text("Set 3")
    page.locator("[data-row='2'] td").first.click()
    expect(page.locator("#now")).to_contain_text("Set 2, count 16 of 16")
    expect(page).to_have_url(re.compile(r"set=2&near=1-2$"))
    before = dots(page)
    page.reload()
    expect(here).to_have_attribute("data-row", "2")
    assert dots(page) == before
    expect(page.get_by_role("button", name="Play")).to_be_visible()
    page.locator("#frame-table a", has_text="1-3").focus()
    expect(page.locator(".pointed text")).to_have_text("1-3")
    staff.quiet()


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_the_keyboard_goes_count_by_count(week: Week, open_page: OpenPage, width: int) -> None:
    staff = open_page(week.cast.staff, width)
    page = staff.go(f"/shows/{week.show.pk}/?set=2&count=0")
    before = dots(page)
    page.get_by_role("button", name="+1 count").press("Enter")
    expect(page.locator("#frame-table caption")).to_have_text("Set 2, after count 1 of 16")
    assert dots(page) != before
    page.get_by_role("button", name="−1 count").press("Space")
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
    page.get_by_role("link", name="−1 count").click()
    expect(page.locator("#frame-table caption")).to_have_text("Set 2, after count 15 of 16")
    assert dots(page) != before
    page.get_by_role("link", name="Set 3 ›").click()
    expect(page.locator("#frame-table caption")).to_have_text("Set 3")
    expect(page.get_by_role("button", name="Play")).to_have_count(0)


def test_a_member_moves_their_own_way_on_a_phone(week: Week, open_page: OpenPage) -> None:
    member = open_page(week.cast.other, PHONE)
    page = member.go("/card/")
    page.locator("summary", has_text="set by set").first.click()
    page.get_by_role("link", name="My set sheet, moving").first.click()
    me = page.locator(".field-picture .self")
    before = me.get_attribute("transform")
    page.get_by_role("button", name="+1 count").click()
    expect(me).not_to_have_attribute("transform", before or "")
    assert 0 < member.own_bytes() < OWN_BYTES
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


@pytest.mark.parametrize("seen_from", ["press box", "field"])
def test_the_words_at_its_edges_go_along(week: Week, open_page: OpenPage, seen_from: str) -> None:
    DrillSettings.objects.create(season=week.band.season, seen_from=seen_from)
    staff = open_page(week.cast.staff, PHONE)
    page = staff.go(f"/shows/{week.show.pk}/?set=1&near=1-2")
    slider = page.get_by_role("slider", name="Count of the show")
    for key in ("ArrowRight", "End"):
        slider.press(key)
        at = page.evaluate("""() => {
          const frame = document.querySelector("svg.field-picture").getBoundingClientRect();
          const found = [...document.querySelectorAll(".sides text, .yard:not([opacity='0'])")];
          return found.filter((text) => text.textContent).map((text) => {
            const box = text.getBoundingClientRect();
            const inside = box.left >= frame.left - 1 && box.right <= frame.right + 1;
            const within = box.top >= frame.top - 1 && box.bottom <= frame.bottom + 1;
            return [text.textContent, inside && within, box.left, box.top];
          });
        }""")
        assert all(inside for _, inside, _, _ in at), at
        where = {word: (left, top) for word, _, left, top in at}
        assert where["← side 1"][0] < where["side 2 →"][0]
        numbers = [top for word, (_, top) in where.items() if word.isdigit()]
        assert numbers and (max(numbers) < where["back"][1]) is (seen_from == "field")
    assert 0 < staff.own_bytes() < OWN_BYTES
    staff.quiet()
