"""What every page keeps to: headers, markup, forms; and how accounts are entered."""

from __future__ import annotations

import datetime
import html
import re
from collections.abc import Iterator
from html.parser import HTMLParser
from typing import Any
from urllib.parse import quote_plus

import pytest
from django.conf import settings
from django.core import mail
from django.http import HttpResponse
from django.template.loader import get_template, render_to_string
from django.test import Client, override_settings
from django.urls import reverse

from bandops.lib.accounts import links
from bandops.lib.accounts.models import User
from bandops.lib.audit.models import AuditEntry
from drill.models import Event
from tests.architecture.test_access import TABLE, outcome
from tests.architecture.world import World, client_of, make_world, undone, url_of
from tests.factories import Band, Cast
from tests.reading import steady

pytestmark = pytest.mark.django_db

PASSWORD = "seven quiet cornets at dawn"
FRAGMENTS = {"revision-progress", "call-progress", "plan-progress"}
"""what htmx puts into a page, never a page of its own"""
ASKED_AGAIN = {"calendar-feed"}
"""what the reader's own program keeps, and asks for again before each use"""
ELSEWHERE = ("https://elsewhere.example/", "//elsewhere.example/", "javascript:alert(1)")
ELSEWHERE += (r"\\elsewhere.example", "https:elsewhere.example", "/\\elsewhere.example")


@pytest.fixture
def world(band: Band, cast: Cast) -> World:
    return make_world(band, cast.staff, cast.member)


class Markup(HTMLParser):
    """What a page is checked for."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.faults: list[str] = []
        self.lang, self.h1, self.title = "", 0, ""
        self._in = ""
        self._posts: list[bool] = []
        self.feed(text)
        self.close()
        self._judge()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        values = {name: value or "" for name, value in attrs}
        self._in = tag
        if tag == "html":
            self.lang = values.get("lang", "")
        if tag == "h1":
            self.h1 += 1
        data = values.get("type") == "application/json"
        if tag == "style" or (tag == "script" and "src" not in values and not data):
            self.faults.append(f"inline {tag}")
        self._attributes(tag, values)
        if tag == "form":
            self._posts.append(values.get("method", "get").lower() == "post")
            self._token = False
        if tag == "input" and values.get("name") == "csrfmiddlewaretoken":
            self._token = True
            if not (self._posts and self._posts[-1]):
                self.faults.append("a token outside a form that posts")

    def _attributes(self, tag: str, values: dict[str, str]) -> None:
        for name, value in values.items():
            if name == "style" or name.startswith("on"):
                self.faults.append(f"{tag} {name}={value}")
            if name in ("href", "src", "action", "hx-get", "hx-post") and re.match(
                r"(https?:)?//|javascript:|data:", value
            ):
                self.faults.append(f"{tag} leads away: {value}")

    def handle_endtag(self, tag: str) -> None:
        self._in = ""
        if tag == "form" and self._posts.pop() and not self._token:
            self.faults.append("a form that posts without a token")

    def handle_data(self, data: str) -> None:
        if self._in == "title" and not self.title:
            self.title = data.strip()

    def _judge(self) -> None:
        if self.lang != "en":
            self.faults.append("no language")
        if not self.title:
            self.faults.append("no title")
        if self.h1 != 1:
            self.faults.append(f"{self.h1} first headings")


def headers_wrong(response: HttpResponse, kept_as: str = "no-store") -> Iterator[str]:
    """What a response lacks."""
    policy = response.get("Content-Security-Policy", "")
    if "default-src 'self'" not in policy or "unsafe" in policy or "*" in policy:
        yield f"policy: {policy}"
    for directive in ("frame-ancestors 'none'", "form-action 'self'", "object-src 'none'"):
        if directive not in policy:
            yield f"policy without {directive}"
    for name, value in (
        ("X-Content-Type-Options", "nosniff"),
        ("X-Frame-Options", "DENY"),
        ("Referrer-Policy", "same-origin"),
    ):
        if response.get(name) != value:
            yield f"{name}: {response.get(name)}"
    kept = response.get("Cache-Control", "")
    if response.status_code == 200 and not ("private" in kept and kept_as in kept):
        yield f"may be kept on the way: {kept!r}"


@pytest.mark.parametrize("role", ["director", "staff", "leader", "member", "gear", "visitor"])
def test_every_page_keeps_to_the_rules(world: World, cast: Cast, role: str) -> None:
    client = client_of(cast, role)
    wrong = []
    for name in TABLE.keys() - {"api-schema"}:
        with undone():
            response = client.get(url_of(name, world))
        kept_as = "no-cache" if name in ASKED_AGAIN else "no-store"
        wrong += [f"{name}: {fault}" for fault in headers_wrong(response, kept_as)]
        is_page = response.get("Content-Type", "").startswith("text/html") and response.content
        if is_page and response.status_code != 405 and name not in FRAGMENTS:
            wrong += [f"{name}: {f}" for f in Markup(response.content.decode()).faults]
    assert not wrong, "\n".join(wrong)


def test_forms_with_errors_keep_to_the_rules(world: World, cast: Cast) -> None:
    client = client_of(cast, "director")
    wrong, seen = [], 0
    for name, row in TABLE.items():
        if row.get != "ok":
            continue
        with undone():
            response = client.post(url_of(name, world), {"how": "password", "what": "password"})
        is_page = response.get("Content-Type", "").startswith("text/html")
        if response.status_code == 200 and is_page and name not in FRAGMENTS:
            seen += 1
            wrong += [f"{name}: {f}" for f in Markup(response.content.decode()).faults]
    assert seen > 20
    assert not wrong, "\n".join(wrong)


def test_errors_have_pages_of_their_own(world: World, cast: Cast) -> None:
    client = client_of(cast, "member", enforce_csrf_checks=True)
    forged = client.post(reverse("my-absences"), {"kind": "out"})
    answers = {
        403: client.get(reverse("people")),
        404: client.get("/no/such/page/"),
    }
    for status, response in answers.items():
        assert response.status_code == status
        assert not Markup(response.content.decode()).faults
        assert not list(headers_wrong(response))
    assert forged.status_code == 403
    assert not Markup(forged.content.decode()).faults
    for name in ("400.html", "500.html"):
        assert get_template(name)
        assert not Markup(render_to_string(name)).faults


@override_settings(DEBUG=False)
def test_an_error_page_tells_nothing_of_the_inside(
    world: World, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*args: Any, **kwargs: Any) -> None:
        raise RuntimeError("the inside")

    monkeypatch.setattr("roster.queries.active_members", broken)
    client = client_of(cast, "gear", raise_request_exception=False)
    response = client.get(reverse("sizes"))
    assert response.status_code == 500
    assert "inside" not in response.content.decode()


def test_no_post_without_the_token(world: World, cast: Cast) -> None:
    client = client_of(cast, "director", enforce_csrf_checks=True)
    wrong = []
    for name in TABLE:
        before = AuditEntry.objects.count()
        response = client.post(url_of(name, world), {"how": "link", "email": "a@b.example"})
        if response.status_code != 403 and name not in ("api-schema", "api-events", "api-lineup"):
            wrong.append(f"{name}: {response.status_code}")
        if AuditEntry.objects.count() != before:
            wrong.append(f"{name} wrote")
    assert not wrong, "\n".join(wrong)
    assert client.get(reverse("me")).status_code == 200, "still signed in"


def test_cookies_are_kept_from_scripts_and_other_sites(cast: Cast) -> None:
    set_password(cast.staff)
    cookie = entered(cast.staff.email, PASSWORD).cookies[settings.SESSION_COOKIE_NAME]
    assert cookie["httponly"] and cookie["samesite"] == "Lax"


# Where a form may send to


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


def signed_in_from(client: Client, user: User, response: HttpResponse) -> HttpResponse:
    """Follow the way to sign in, and what comes after it."""
    page = client.get(response["Location"]).content.decode()
    assert "You were signed out: what you sent was not saved." in page
    [then] = re.findall(r'name="next" value="([^"]*)"', page)
    data = {"how": "password", "address": user.email, "password": PASSWORD}
    return client.post(reverse("sign-in"), data | {"next": html.unescape(then)}, follow=True)


@pytest.mark.parametrize("name", ["mark-out", "desk-fill", "take-back", "my-absences"])
def test_what_is_sent_signed_out_leads_back_to_its_page(
    world: World, cast: Cast, name: str
) -> None:
    set_password(cast.staff)
    client, page = Client(), f"{reverse('people')}?q=a&page=1"
    for _ in range(2):
        response = client.post(url_of(name, world), HTTP_REFERER=f"http://testserver{page}")
    came = signed_in_from(client, cast.staff, response)
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
    came = signed_in_from(client, cast.staff, response)
    assert came.status_code == 200 and came.request["PATH_INFO"] == reverse("week")


def test_a_tap_signed_out_takes_the_whole_page_to_sign_in(world: World, cast: Cast) -> None:
    """A sign-in page put into a member's row would be of no use to anybody."""
    set_password(cast.leader)
    client, page = Client(), f"{url_of('attendance', world)}?rank=1"
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{page}"}
    tapped = client.post(url_of("attendance-note", world), headers=headers)
    assert tapped.status_code == 200 and not tapped.content
    response = HttpResponse(headers={"Location": tapped["HX-Redirect"]})
    came = signed_in_from(client, cast.leader, response)
    assert came.redirect_chain[0] == (page, 302)
    assert "was not saved" in came.content.decode()


def test_a_part_asked_for_signed_out_loses_nothing(world: World) -> None:
    client, spot = Client(), url_of("spot", world)
    headers = {"HX-Request": "true", "HX-Current-URL": f"http://testserver{spot}"}
    asked = client.get(url_of("spot-covers", world), headers=headers)
    assert asked["HX-Redirect"] == f"{reverse('sign-in')}?next={quote_plus(spot)}"
    assert "was not saved" not in client.get(asked["HX-Redirect"]).content.decode()
    headers["HX-Current-URL"] = "https://elsewhere.example/"
    asked = client.get(url_of("spot-covers", world), headers=headers)
    assert asked["HX-Redirect"] == f"{reverse('sign-in')}?next=%2F"


# Passwords


def set_password(user: User) -> None:
    user.set_password(PASSWORD)
    user.save()


def entered(address: str, password: str) -> HttpResponse:
    data = {"how": "password", "address": address, "password": password}
    return Client().post(reverse("sign-in"), data)


def without_tokens(response: HttpResponse, address: str) -> str:
    """The page's text without what differs anyway."""
    return steady(response.content.decode().replace(address, ""))


def test_the_answer_does_not_tell_who_has_an_account(cast: Cast) -> None:
    set_password(cast.staff)
    cast.other.is_active = False
    cast.other.save()
    addresses = [cast.staff.email, cast.member.email, cast.other.email, "nobody@else.example"]
    texts = {without_tokens(entered(a, "a wrong password of length"), a) for a in addresses}
    assert len(texts) == 1
    assert "do not fit" in texts.pop()


def test_asking_for_a_link_does_not_tell_who_has_an_account(cast: Cast) -> None:
    texts = set()
    for address in (cast.staff.email, cast.staff.email.upper(), "nobody@else.example"):
        data = {"how": "link", "email": address}
        texts.add(without_tokens(Client().post(reverse("sign-in"), data), address))
    assert len(texts) == 1
    assert [m.to for m in mail.outbox] == [[cast.staff.email]] * 2


def test_failures_are_counted_and_end_passwords_but_not_links(cast: Cast) -> None:
    set_password(cast.staff)
    for count in range(1, links.MAX_FAILURES + 1):
        assert entered(cast.staff.email, "a wrong password of length").status_code == 200
        cast.staff.refresh_from_db()
        assert cast.staff.failed_sign_ins == count
    assert entered(cast.staff.email, PASSWORD).status_code == 200, "the right one no longer helps"
    assert AuditEntry.objects.filter(action="fail to sign in").count() > links.MAX_FAILURES
    client = Client()
    client.post(path_of(links.link_for(cast.staff, links.SIGN_IN)))
    assert client.get(reverse("me")).status_code == 200
    assert entered(cast.staff.email, PASSWORD).status_code == 302, "the link begins anew"


def test_signing_in_forgets_failures_and_changes_the_session(cast: Cast) -> None:
    set_password(cast.staff)
    entered(cast.staff.email, "a wrong password of length")
    client = Client()
    client.get(reverse("sign-in"))
    client.session["planted"] = "x"
    data = {"how": "password", "address": cast.staff.email, "password": PASSWORD}
    client.cookies[settings.SESSION_COOKIE_NAME] = "planted" * 4
    assert client.post(reverse("sign-in"), data).status_code == 302
    assert client.cookies[settings.SESSION_COOKIE_NAME].value != "planted" * 4
    cast.staff.refresh_from_db()
    assert cast.staff.failed_sign_ins == 0


def test_who_set_no_password_cannot_enter_by_one(cast: Cast) -> None:
    assert entered(cast.member.email, "").status_code == 200
    assert entered(cast.member.email, "!").status_code == 200
    assert entered(cast.member.email, cast.member.password).status_code == 200


def test_a_new_password_ends_other_sessions(cast: Cast) -> None:
    here, there = client_of(cast, "member"), client_of(cast, "member")
    data = {"what": "password", "new_password1": PASSWORD, "new_password2": PASSWORD}
    assert here.post(reverse("me"), data).status_code == 302
    assert here.get(reverse("me")).status_code == 200
    assert outcome(there.get(reverse("me"))) == "sign-in"


@pytest.mark.source("NIST SP 800-63B-4, 3.1.1.2: at least 15 characters, a block list")
@pytest.mark.parametrize("password", ["fourteen chars", "123456789987654321"])
def test_weak_passwords_are_refused(cast: Cast, password: str) -> None:
    client = client_of(cast, "member")
    data = {"what": "password", "new_password1": password, "new_password2": password}
    assert client.post(reverse("me"), data).status_code == 200, "the form comes back"
    cast.member.refresh_from_db()
    assert not cast.member.has_usable_password()


def test_signing_out_takes_a_post_and_ends_the_session(cast: Cast) -> None:
    client = client_of(cast, "member")
    client.get(reverse("sign-out"))
    assert client.get(reverse("me")).status_code == 200, "a link cannot sign anybody out"
    response = client.post(reverse("sign-out"))
    assert response["Clear-Site-Data"]
    assert outcome(client.get(reverse("me"))) == "sign-in"


# Links


def path_of(link: str) -> str:
    return link.removeprefix(settings.SITE_URL)


def mailed_link(address: str) -> str:
    Client().post(reverse("sign-in"), {"how": "link", "email": address})
    found = re.search(r"https?://\S+", str(mail.outbox[-1].body))
    assert found
    return path_of(found[0])


def test_a_link_works_once_and_a_visit_does_not_use_it_up(cast: Cast) -> None:
    path = mailed_link(cast.member.email)
    for _ in range(3):
        response = Client().get(path)
        assert response.status_code == 200
        assert settings.SESSION_COOKIE_NAME not in response.cookies
    client = Client()
    assert client.post(path).status_code == 302
    assert client.get(reverse("card")).status_code == 200
    assert Client().post(path).status_code == 410, "used up"


def test_a_visit_does_not_tell_whether_a_link_is_good(cast: Cast) -> None:
    good = mailed_link(cast.member.email)
    texts = {without_tokens(Client().get(path), "") for path in (good, good[:-4] + "xyz/")}
    assert len(texts) == 1


@pytest.fixture
def later(monkeypatch: pytest.MonkeyPatch) -> Any:
    """Moves the clock that links are dated with."""
    import time

    now = time.time()

    def move(**ago: float) -> None:
        seconds = datetime.timedelta(**ago).total_seconds()
        monkeypatch.setattr("time.time", lambda: now + seconds)

    return move


def test_a_sign_in_link_ends_soon(cast: Cast, later: Any) -> None:
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    later(minutes=21)
    assert Client().post(path).status_code == 410


def test_an_invitation_lasts_two_weeks_and_works_once(cast: Cast, later: Any) -> None:
    links.send_invitation(cast.member, "Quillwater")
    found = re.search(r"https?://\S+", str(mail.outbox[-1].body))
    assert found
    path = path_of(found[0])
    later(days=13)
    assert Client().get(path).status_code == 200
    assert Client().post(path).status_code == 302
    assert Client().post(path).status_code == 410


def test_an_old_invitation_is_void(cast: Cast, later: Any) -> None:
    path = path_of(links.link_for(cast.member, links.INVITATION))
    later(days=15)
    assert Client().post(path).status_code == 410


def test_a_link_is_good_for_what_it_was_made_for_only(cast: Cast) -> None:
    path = path_of(links.link_for(cast.member, links.INVITATION))
    assert Client().post(path.replace("invitation", "sign-in")).status_code == 410
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    assert Client().post(path.replace("sign-in", "invitation")).status_code == 410
    assert Client().post(path.replace("sign-in", "other")).status_code == 410


def test_a_new_password_voids_links(cast: Cast) -> None:
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    set_password(cast.member)
    assert Client().post(path).status_code == 410


def test_a_deactivated_account_is_let_in_by_nothing(cast: Cast) -> None:
    path = path_of(links.link_for(cast.member, links.SIGN_IN))
    set_password(cast.staff)
    for user in (cast.member, cast.staff):
        User.objects.filter(pk=user.pk).update(is_active=False)
    assert Client().post(path).status_code == 410
    assert entered(cast.staff.email, PASSWORD).status_code == 200
    Client().post(reverse("sign-in"), {"how": "link", "email": cast.staff.email})
    assert not mail.outbox


def test_links_name_our_own_host_whatever_the_request_says(cast: Cast) -> None:
    data = {"how": "link", "email": cast.member.email}
    Client().post(reverse("sign-in"), data, HTTP_HOST="elsewhere.example")
    assert "elsewhere.example/link" not in str(mail.outbox[-1].body)
    assert settings.SITE_URL in str(mail.outbox[-1].body)
