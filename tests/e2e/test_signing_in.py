"""Coming in as people do: by the link in the mail, in a real browser."""

from __future__ import annotations

import pytest
from django.urls import reverse

from bandops.lib.accounts import links
from tests.e2e.conftest import PHONE, OpenPage, Week

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_link_signs_in_by_its_button(open_page: OpenPage, week: Week) -> None:
    phone = open_page(None, PHONE)
    link = links.link_for(week.cast.member, links.SIGN_IN)
    page = phone.go(reverse("link", args=["sign-in", link.rstrip("/").rpartition("/")[2]]))
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/card/**")
    assert "You are signed in as" in page.inner_text("#messages")


def test_on_a_borrowed_device_no_page_is_kept(open_page: OpenPage, week: Week) -> None:
    phone = open_page(None, PHONE, service_workers="allow")
    link = links.link_for(week.cast.member, links.SIGN_IN)
    page = phone.go(reverse("link", args=["sign-in", link.rstrip("/").rpartition("/")[2]]))
    page.get_by_label("This is not my device").check()
    page.get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/card/**")
    page.wait_for_timeout(1500)
    kept = "caches.open('private').then(async (store) => (await store.keys()).length)"
    assert page.evaluate(kept) == 0
