"""The travel list's pages: what staff do there."""

from __future__ import annotations

import html
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from drill.events import queries as event_queries
from drill.events.models import TravelList
from tests.architecture.world import publish
from tests.drill.travel.travel_pages import SignedIn, limit, text_of
from tests.factories import Band, Cast

pytestmark = pytest.mark.django_db


def change(client: Client, band: Band, what: str, **data: Any) -> str:
    """The page after the change, with what it says."""
    url = reverse("travel-change", args=[band.event.pk])
    referer = reverse("travel", args=[band.event.pk])
    response = client.post(
        url, {"what": what, **data}, follow=True, HTTP_REFERER=f"http://testserver{referer}"
    )
    assert response.status_code == 200
    return html.unescape(response.content.decode())


def test_from_nothing_to_a_posted_list_and_back(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    """The limit is below the marchers: refused with names, mended, posted, taken back."""
    publish(band, cast.staff)
    limit(band, 7)
    staff = signed_in(cast.staff)
    page = text_of(staff, "travel", band.event.pk)
    assert "not made yet" in page and "8 people are 1 more than the limit of 7" in page
    assert not TravelList.objects.exists(), "looking makes nothing"
    assert "The draft list has 8 people." in change(staff, band, "make")
    assert "8 people are 1 more than the limit of 7." in change(staff, band, "post")
    eno = band.members["Eno Farrow"]
    page = change(staff, band, "remove", member=eno.pk)
    assert "1-5 loses its marcher" in page and "Eno Farrow marches 1-5" in page
    page = change(staff, band, "post")
    assert "1-5: Eno Farrow marches it and is not on the list" in page
    assert event_queries.travellers(band.event) is None
    seat = (band.event.pk, band.halftime.pk, band.spots["1-5"].pk)
    staff.post(reverse("order", args=seat), {"what": "open", "scope": "event"})
    page = change(staff, band, "post")
    assert "anybody not on it cannot march" in page and "Take back to a draft" in page
    built = event_queries.travellers(band.event)
    assert built == frozenset(
        m.pk for n, m in band.members.items() if n in MARCH and n != "Eno Farrow"
    )
    seats = (band.event.pk, band.halftime.pk, band.spots["1-3"].pk)
    assert "Ida Voss: not on the travel list" in text_of(staff, "seat", *seats)
    assert "everybody may march" in change(staff, band, "take back")
    assert "not on the travel list" not in text_of(staff, "seat", *seats)


MARCH = {
    "Ana Núñez", "Bo Larkspur", "Cai Ørnberg", "Dee Quill", "Eno Farrow", "Fay Ashgrove",
    "Gus Tamm", "Hal Brook",
}  # fmt: skip


def test_the_page_says_what_each_person_means(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    limit(band, 9)
    staff = signed_in(cast.staff)
    page = change(staff, band, "make")
    for words in ("Trumpet from 3% to 23%", "alternate 1 of Rank 1", "The list is full"):
        assert words in page, words
    assert "Put on the list" not in page, "no button that is bound to be refused"
    page = change(staff, band, "remove", member=band.members["Ida Voss"].pk)
    assert "Trumpet from 23% to 3%" in page and "Put on the list" in page
    page = change(staff, band, "fill")
    assert "1 backup goes along: Ida Voss." in page
    assert "No seats left for backups." in change(staff, band, "fill")


def test_an_event_without_a_limit_says_so_and_lists_who_goes(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    page = text_of(signed_in(cast.staff), "travel", band.event.pk)
    assert "There is no limit for this event" in page
    for name in band.members:
        assert name in page


def test_an_event_that_cannot_have_a_lineup_says_where_to_look(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    limit(band, 1)
    band.event.must_travel.set([band.members["Ana Núñez"], band.members["Bo Larkspur"]])
    page = text_of(signed_in(cast.staff), "travel", band.event.pk)
    assert "check Who marches first" in page


def test_an_event_where_nobody_marches_has_a_page(
    band: Band, cast: Cast, signed_in: SignedIn
) -> None:
    band.event.segments.exclude(pk=band.stands.pk).delete()
    assert "Nobody marches" in text_of(signed_in(cast.staff), "travel", band.event.pk)


@pytest.mark.parametrize(
    ("what", "data", "says"),
    [
        ("dance", {}, "Choose what to do."),
        ("add", {}, "Choose a member."),
        ("add", {"member": "x"}, "Choose a member."),
        ("print", {"paper": "foolscap"}, "Choose a paper size."),
    ],
)
def test_what_cannot_be_meant_is_refused(
    band: Band, cast: Cast, signed_in: SignedIn, what: str, data: dict[str, str], says: str
) -> None:
    assert says in change(signed_in(cast.staff), band, what, **data)


def test_the_event_leads_to_its_list(band: Band, cast: Cast, signed_in: SignedIn) -> None:
    staff = signed_in(cast.staff)
    page = text_of(staff, "event", band.event.pk)
    assert reverse("travel", args=[band.event.pk]) in page and "Who must travel" not in page
    limit(band, 7)
    assert "Who must travel" in text_of(staff, "event", band.event.pk)
