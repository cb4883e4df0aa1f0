"""The main path with the keyboard alone, and a focus that can be seen at every stop."""

from __future__ import annotations

import pytest
from django.urls import reverse
from playwright.sync_api import Page, expect

from drill.absences import queries as absence_queries
from drill.absences.services.absences import decide_absence
from drill.lineup.models import Lineup
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Week

pytestmark = pytest.mark.django_db(transaction=True)
PASSWORD = "lanterns over the river"
MOST_STOPS = 200
# WCAG 2.2, 2.4.7 and 1.4.11: where the focus is shows, with 3:1 against what is beside it.
SHOWS = """() => {
  const at = document.activeElement, style = getComputedStyle(at), box = at.getBoundingClientRect();
  return {
    tag: at.tagName, text: (at.getAttribute("aria-label") || at.textContent || "").trim(),
    outlined: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
    on: box.bottom > 0 && box.top < innerHeight && box.right > 0 && box.left < innerWidth,
  };
}"""


def tab(page: Page, key: str = "Tab") -> dict[str, object]:
    """One stop further; what has the focus now, and that it shows."""
    page.keyboard.press(key)
    at: dict[str, object] = page.evaluate(SHOWS)
    if at["tag"] != "BODY":
        assert at["outlined"] and at["on"], f"{page.url}: the focus does not show: {at}"
    return at


def tab_to(page: Page, text: str, key: str = "Tab") -> None:
    """Go on until the stop with this text."""
    for _ in range(MOST_STOPS):
        if str(tab(page, key)["text"]).startswith(text):
            return
    pytest.fail(f"{page.url}: never came to “{text}”")


def press(page: Page, text: str) -> None:
    """Come to a link or a button by tabs and press it."""
    tab_to(page, text)
    page.keyboard.press("Enter")


def test_skipping_the_menu_is_the_first_thing_offered(week: Week, open_page: OpenPage) -> None:
    watched = open_page(week.cast.director)
    page = watched.go(reverse("week"))
    assert tab(page)["text"] == "Skip to content"
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "main"
    assert page.evaluate("document.activeElement.contains(document.querySelector('h1'))")
    after = tab(page)
    assert page.evaluate("document.activeElement.closest('main') !== null"), after
    watched.quiet()


def press_spot(page: Page, label: str) -> None:
    """All spots are one stop: arrow keys go to the one with this label, Enter opens it."""
    for _ in range(MOST_STOPS):
        tab(page)
        if page.evaluate("document.activeElement.matches('.matrix a')"):
            break
    page.keyboard.press("ArrowLeft")
    while not page.evaluate("document.activeElement.textContent").startswith(label):
        row = page.evaluate("document.activeElement.textContent.split('-')[0]")
        page.keyboard.press("ArrowDown" if row != label.split("-")[0] else "ArrowRight")
    page.keyboard.press("Enter")


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("name", ["week", "lineup", "people", "imports", "card", "event-new"])
def test_every_stop_shows_and_nothing_traps(
    name: str, width: int, week: Week, open_page: OpenPage
) -> None:
    user = week.cast.member if name == "card" else week.cast.director
    page = open_page(user, width).go(
        reverse(name, args=[week.band.event.pk] if name == "lineup" else [])
    )
    wanted = page.evaluate(
        """() => [...document.querySelectorAll("a[href], button, select, summary, [tabindex='0'],"
           + " input:not([type=hidden]), textarea")]
        .filter((e) => e.getClientRects().length && !e.disabled && e.tabIndex >= 0)
        .filter((e) => e.type !== "radio" || e.checked)
        .filter((e) => !e.closest("details:not([open]) > :not(summary)")).length"""
    )
    stops = 0
    while tab(page)["tag"] != "BODY":
        stops += 1
        assert stops < wanted * 4 + MOST_STOPS, "the focus never leaves the page"
    # A date or a time has a stop for each of its parts.
    assert stops >= wanted


def test_signing_in_with_the_keyboard(week: Week, open_page: OpenPage) -> None:
    week.cast.director.set_password(PASSWORD)
    week.cast.director.save()
    watched = open_page()
    page = watched.go(reverse("sign-in"))
    page.get_by_role("textbox", name="Password").wait_for()
    for _ in range(MOST_STOPS):
        tab(page)
        if page.evaluate("document.activeElement.name") == "address":
            break
    page.keyboard.type(week.cast.director.email)
    tab(page)
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text(str(week.band.event))
    watched.quiet()


def test_from_the_week_to_a_publication_with_the_keyboard(week: Week, open_page: OpenPage) -> None:
    """The report is declined, a spot is emptied and filled, a pin is set, revision 3 goes out."""
    report = absence_queries.absences(week.band.season).filter(state="reported")[0]
    decide_absence(actor=week.cast.director, absence=report, confirm=False)
    watched = open_page(week.cast.director)
    page = watched.go(reverse("week"))
    press(page, "Lineup")
    expect(page.get_by_role("heading", name="Who marches", exact=True)).to_be_visible()
    press_spot(page, "2-1")
    spot = page.get_by_role("heading", name="2-1, Pregame")
    expect(spot).to_be_focused()
    press(page, "Empty it, leave it open")
    press(page, "Empty it in Pregame")
    expect(page.get_by_text("2-1 in Pregame: nobody.")).to_be_visible()
    press_spot(page, "2-1")
    expect(spot).to_be_focused()
    press(page, "More for Fay Ashgrove")
    press(page, "Pin Fay Ashgrove to 2-1")
    expect(page.get_by_text("Saved. This is the new proposal.")).to_be_visible()
    press(page, "Use this proposal")
    expect(page.get_by_text("The proposal is the draft now.")).to_be_visible()
    press(page, "Publish …")
    expect(page.get_by_role("heading", name="Publish", exact=True)).to_be_visible()
    press(page, "Publish revision 3")
    expect(page.get_by_text("Revision 3 is published.")).to_be_visible()
    assert Lineup.objects.filter(event=week.band.event, number=3).exists()
    watched.quiet()
