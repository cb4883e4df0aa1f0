"""Where a form and a sign-in may lead to."""

from __future__ import annotations

from urllib.parse import quote_plus

import pytest
from django.test import Client
from django.urls import reverse

from drill.events.models import Event
from tests.architecture.markup import Markup
from tests.architecture.signing_in import ELSEWHERE, PASSWORD, set_password, signed_in_from
from tests.architecture.world import World, client_of, url_of
from tests.factories import Cast

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


@pytest.mark.parametrize("target", ELSEWHERE)
def test_signing_in_leads_nowhere_else(cast: Cast, target: str) -> None:
    set_password(cast.member)
    data = {"how": "password", "address": cast.member.email, "password": PASSWORD}
    response = Client().post(reverse("sign-in"), data | {"next": target})
    assert (response.status_code, response["Location"]) == (302, reverse("home"))
    page = Client().get(reverse("sign-in"), {"next": target}).content.decode()
    assert not Markup(page).faults


@pytest.mark.parametrize("target", ELSEWHERE)
def test_forms_lead_nowhere_else(world: World, cast: Cast, target: str) -> None:
    client = client_of(cast, "staff")
    for name in ("absence-decide", "absence-withdraw", "people-bulk"):
        data = {"decision": "confirm", "what": "active", "member": world.member.pk}
        response = client.post(url_of(name, world), data | {"next": target}, HTTP_REFERER=target)
        assert response.status_code == 302
        assert response["Location"].startswith("/"), name
        assert not response["Location"].startswith(("//", "/\\")), name


def test_a_page_that_refuses_does_not_send_back_to_itself(world: World, cast: Cast) -> None:
    bare = Event.objects.create(
        season=world.band.season, name="Bare", date="2099-09-09", cut_off="2020-01-01T00:00:00Z"
    )
    url = f"http://testserver{reverse('lineup', args=[bare.pk])}"
    response = client_of(cast, "staff").get(url, HTTP_REFERER=f"{url}?view=field")
    assert (response.status_code, response["Location"]) == (302, reverse("home"))


def test_signing_in_goes_on_to_the_page_that_was_asked_for(cast: Cast) -> None:
    set_password(cast.staff)
    client = Client()
    sent_to = client.get(reverse("people"))["Location"]
    assert sent_to == f"{reverse('sign-in')}?next=%2Fpeople%2F"
    assert 'name="next" value="/people/"' in client.get(sent_to).content.decode()
    data = {"how": "password", "address": cast.staff.email, "password": PASSWORD}
    response = client.post(reverse("sign-in"), data | {"next": "/people/"})
    assert response["Location"] == "/people/"


@pytest.mark.parametrize("name", ["mark-out", "desk-fill", "take-back", "my-absences"])
def test_what_is_sent_signed_out_leads_back_to_its_page(
    world: World, cast: Cast, name: str
) -> None:
    set_password(cast.staff)
    client, page = Client(), f"{reverse('people')}?q=a&page=1"
    for _ in range(2):
        response = client.post(url_of(name, world), HTTP_REFERER=f"http://testserver{page}")
    came = signed_in_from(client, cast.staff, response["Location"])
    assert (came.status_code, came.redirect_chain) == (200, [(page, 302)])
    assert came.content.decode().count("was not saved") == 1, "told there too, once"
    assert "was not saved" not in client.get(page).content.decode()


@pytest.mark.parametrize(
    "elsewhere", ["", "http://elsewhere.example/x/", "http://testserver//x.example"]
)
def test_what_is_sent_signed_out_from_elsewhere_leads_to_the_start(
    world: World, cast: Cast, elsewhere: str
) -> None:
    set_password(cast.staff)
    client = Client()
    response = client.post(url_of("mark-out", world), HTTP_REFERER=elsewhere)
    came = signed_in_from(client, cast.staff, response["Location"])
    assert came.status_code == 200 and came.request["PATH_INFO"] == reverse("week")


def test_a_tap_signed_out_takes_the_whole_page_to_sign_in(world: World, cast: Cast) -> None:
    """A sign-in page put into a member's row would be of no use to anybody."""
    set_password(cast.leader)
    client, page = Client(), f"{url_of('attendance', world)}?rank=1"
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{page}"}
    tapped = client.post(url_of("attendance-note", world), headers=headers)
    assert tapped.status_code == 200 and not tapped.content
    came = signed_in_from(client, cast.leader, tapped["HX-Redirect"])
    assert came.redirect_chain[0] == (page, 302)
    assert "was not saved" in came.content.decode()


def test_a_part_asked_for_signed_out_loses_nothing(world: World) -> None:
    client, spot = Client(), url_of("spot", world)
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{spot}"}
    asked = client.get(url_of("spot-backups", world), headers=headers)
    assert asked["HX-Redirect"] == f"{reverse('sign-in')}?next={quote_plus(spot)}"
    assert "was not saved" not in client.get(asked["HX-Redirect"]).content.decode()
    headers["HX-Current-URL"] = "https://elsewhere.example/"
    asked = client.get(url_of("spot-backups", world), headers=headers)
    assert asked["HX-Redirect"] == f"{reverse('sign-in')}?next=%2F"
