"""Enlarged to 200 % on a phone, by zoom or by larger text: nothing scrolls sideways."""

from __future__ import annotations

import pytest
from playwright.sync_api import Page

from tests.e2e.conftest import PHONE, OpenPage, Watched, Week
from tests.e2e.pages import own_paths, pages

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.walk]
PARTS = 4
HALF = PHONE // 2
"""CSS pixels across a phone that shows them twice as large"""
TOO_WIDE = """() => {
  const root = document.documentElement, room = root.clientWidth;
  if (root.scrollWidth <= room) return "";
  const far = [...document.querySelectorAll("body *")]
    .filter((one) => one.getBoundingClientRect().right > room + 1);
  const scrolls = (one) =>
    one && (getComputedStyle(one).overflowX !== "visible" || scrolls(one.parentElement));
  const last = far.filter((one) => !scrolls(one.parentElement)).pop();
  return `${root.scrollWidth - room} px: ${last ? last.outerHTML.slice(0, 120) : "?"}`;
}"""
WITHOUT_FOCUS = """() => [...document.querySelectorAll("main *")]
  .filter((one) => ["auto", "scroll"].includes(getComputedStyle(one).overflowX))
  .filter((one) => one.scrollWidth > one.clientWidth && one.tabIndex < 0)
  .filter((one) => !one.querySelector("a, button, input, select"))
  .map((one) => one.outerHTML.slice(0, 120))"""


def wrong_of(watched: Watched, path: str) -> list[str]:
    """What is too wide on the page in either way, and what scrolls but takes no focus."""
    page = watched.go(path)
    found = []
    for how, width, text in (("zoom", HALF, ""), ("text", PHONE, "200%")):
        enlarge(page, width, text)
        found += [f"{path} ({how}): {fault}" for fault in [page.evaluate(TOO_WIDE)] if fault]
        found += [f"{path} ({how}): no focus: {x}" for x in page.evaluate(WITHOUT_FOCUS)]
    enlarge(page, PHONE, "")
    return found


def enlarge(page: Page, width: int, text: str) -> None:
    page.set_viewport_size({"width": width, "height": 844})
    page.evaluate("size => { document.documentElement.style.fontSize = size }", text)


@pytest.mark.parametrize("part", range(PARTS))
def test_no_page_scrolls_sideways_when_enlarged(part: int, week: Week, open_page: OpenPage) -> None:
    watched = open_page(week.cast.director, PHONE)
    wrong = [x for path in pages(week, "director", part, PARTS) for x in wrong_of(watched, path)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("role", ["leader", "member", "visitor"])
def test_nor_do_the_pages_of_others(role: str, week: Week, open_page: OpenPage) -> None:
    watched = open_page(week.cast.named(role), PHONE)
    wrong = [line for path in own_paths(week, role) for line in wrong_of(watched, path)]
    assert not wrong, "\n".join(wrong)
