"""Every page: accessible at both widths and in all lights, quiet console, no sideways scroll.

The pages come from the site's own list of addresses, so a new page is checked from its first day.
"""

from __future__ import annotations

from io import StringIO

import pytest
from django.core.management import call_command
from django.urls import reverse

from drill.events import queries as event_queries
from drill.lineup.services.drafts import open_draft
from drill.publishing.services.publishing import publish_lineup
from roster.people.models import RoleGrant, Season
from roster.ranks.models import Holding
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Watched, Week
from tests.e2e.looking import CARD_BYTES, EVERYTHING, OWN_BYTES, complaints, look
from tests.e2e.pages import more_paths, own_paths, pages
from tests.factories.cast import account_of

pytestmark = pytest.mark.django_db(transaction=True)
PARTS = 4
"""a director's pages are looked at by as many tests, which share the work"""


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("part", range(PARTS))
def test_every_page_is_accessible_quiet_and_fits(
    part: int, width: int, week: Week, open_page: OpenPage
) -> None:
    more = more_paths(week) if part == 0 else []
    addresses = [*pages(week, "director", part, PARTS), *more]
    look_at(open_page(week.cast.director, width), addresses)


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("role", ["leader", "member", "equipment", "outsider", "visitor"])
def test_what_others_see_differently_is_too(
    role: str, width: int, week: Week, open_page: OpenPage
) -> None:
    look_at(open_page(week.cast.named(role), width), own_paths(week, role))


def look_at(watched: Watched, addresses: list[str]) -> None:
    wrong = [line for path in addresses for line in look(watched, path)] + watched.wrong
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("width", [WIDE, PHONE])
def test_what_pages_show_after_a_click_is_accessible_too(
    width: int, week: Week, open_page: OpenPage
) -> None:
    watched = open_page(week.cast.director, width)
    page, wrong = watched.page, []
    watched.go(reverse("lineup", args=[week.band.event.pk]))
    page.locator(".matrix a").filter(has_text="2-3").click()
    page.get_by_role("heading", name="2-3, Pregame").wait_for()
    wrong += complaints(watched, "a spot beside the lineup", EVERYTHING)
    watched.go(reverse("member", args=[week.band.members["Cai Ørnberg"].pk]))
    page.get_by_role("link", name="Show the emergency contact").click()
    page.get_by_text("None on file.").wait_for()
    wrong += complaints(watched, "an emergency contact", EVERYTHING)
    watched.go(reverse("absence-new"))
    page.locator("form.card").evaluate("form => { form.noValidate = true }")
    page.get_by_role("button", name="Save and see what moves").click()
    page.get_by_text("Please fix:").wait_for()
    wrong += complaints(watched, "a form with errors", EVERYTHING)
    for summary in page.locator("summary").all():
        summary.click()
    assert not wrong + watched.wrong, "\n".join(wrong + watched.wrong)


@pytest.mark.parametrize(("path", "status"), [("/no/such/page/", 404), ("/people/", 403)])
def test_the_pages_of_a_refusal_are_accessible(
    path: str, status: int, week: Week, open_page: OpenPage
) -> None:
    watched = open_page(week.cast.member, PHONE)
    watched.expected_status = status
    wrong = look(watched, path) + watched.wrong
    assert not wrong, "\n".join(wrong)


def test_the_card_of_a_big_band_is_small(open_page: OpenPage, transactional_db: None) -> None:
    """The demo band's shows have hundreds of dots; phones load them on a stadium's network."""
    call_command("load_demo", stdout=StringIO())
    season = Season.objects.get(is_current=True)
    director = RoleGrant.objects.filter(season=season, role="director").first()
    event = event_queries.next_event(season)
    assert director is not None and event is not None
    draft = open_draft(actor=director.user, event=event)
    publish_lineup(actor=director.user, event=event, seen_version=draft.version, seen_number=None)
    holding = Holding.objects.select_related("member__person").filter(ends=None).first()
    assert holding is not None
    watched = open_page(account_of(holding.member), PHONE)
    wrong = look(watched, "/card/")
    assert not wrong, "\n".join(wrong)
    watched.page.locator("svg.field-picture").first.wait_for()
    page_bytes = len(watched.page.request.get(watched.base + "/card/").body())
    assert page_bytes < CARD_BYTES
    assert watched.own_bytes() < OWN_BYTES
