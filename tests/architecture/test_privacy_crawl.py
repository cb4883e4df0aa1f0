"""The private reason, wherever it could show: every page, search, export and print."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from django.test import Client
from django.urls import reverse

from roster.people.models import Member
from tests.architecture.access_table import READERS, TABLE
from tests.architecture.privacy import (
    DATES,
    NAMELESS,
    OTHERS,
    REASON_WORDS,
    STATE_WORDS,
    Scene,
    crawl,
    leaks_of,
    private_texts,
    text_of,
)
from tests.architecture.world import client_of, outcome, url_of

pytestmark = [pytest.mark.django_db, pytest.mark.walk]


@pytest.mark.parametrize("role", OTHERS)
def test_nothing_private_shows(printed: Scene, role: str) -> None:
    """Pages, searches, exports, API, prints: crawled as everybody but staff."""
    leaks = leaks_of(printed, role)
    assert not leaks, "\n".join(sorted(leaks))


def test_the_crawl_sees_all_there_is(printed: Scene) -> None:
    """As a director it finds every private text: it is not blind."""
    unseen = {*private_texts(printed, "equipment"), *DATES}
    words = {STATE_WORDS, REASON_WORDS}
    assert len(printed.sentences) >= 2
    for _, text in crawl(client_of(printed.cast, "director"), printed):
        unseen = {it for it in unseen if it not in text}
        words = {found for found in words if not found.search(text)}
        if not words and unseen < set(DATES):
            return
    pytest.fail(f"never seen: {unseen}, {words}")


def test_the_crawl_sees_every_print(printed: Scene) -> None:
    """As a member it finds them: lineup and assignments of two revisions."""
    pages = dict(crawl(client_of(printed.cast, "other"), printed))
    assert any(text.startswith("BEGIN:VCALENDAR") for text in pages.values())
    prints = [text for text in pages.values() if "/Title" in text]
    assert len(prints) >= 4, "lineup and assignments of two revisions"
    assert any("Ida Voss" in text and "stands in" in text for text in prints)
    first = [text for text in prints if "revision 1" in text]
    assert first and all("Cai Ørnberg" in text for text in first), "the used name is printed"


def answer_to(client: Client, typed: str) -> str:
    """What the search says, without what was typed and without the form's token."""
    typed = typed[:100]  # as much as the search reads
    text = text_of(client.get(reverse("search"), {"q": typed}))
    return re.sub(r'"X-CSRFToken": "[^"]*"|value="[^"]{64}"', "", text).replace(typed, "")


@pytest.mark.parametrize("role", ["equipment", "evaluator", "leader", "member", "other"])
def test_a_search_for_what_is_private_finds_what_nonsense_finds(scene: Scene, role: str) -> None:
    """Else whoever types a number or a date learns whose it is."""
    client = client_of(scene.cast, role)
    nothing = answer_to(client, "xyzzy")
    known = {"1-3", "Pellowick", *(m.name for m in Member.objects.select_related("person"))}
    private = set(private_texts(scene, role)) - known
    private |= {"Caspian", "Formerly", "Oakes", "health", "family", "not cleared", "doubtful"}
    assert len(private) > 40
    for typed in sorted(private):
        assert answer_to(client, typed) == nothing, typed
    found = answer_to(client, "Larkspur") != nothing
    assert found == (role not in NAMELESS), "it does find what is not private"


def test_the_schema_has_no_private_field(scene: Scene) -> None:
    text = client_of(scene.cast, "visitor").get(reverse("api-schema")).content.decode()
    names = {"category", "cleared", "eligible", "reason", "review", "phone", "email", "contact"}
    names |= {"student", "legal", "doubtful", "chance"}
    assert not [n for n in names if re.search(rf"\b{n}\w*:", text)]


def _forms(role: str) -> Iterator[str]:
    yield from (n for n, row in TABLE.items() if role in row.allowed.split() and row.get == "ok")


@pytest.mark.parametrize("role", ["equipment", "evaluator", "leader", "member", "other"])
def test_no_form_of_others_asks_why(scene: Scene, role: str) -> None:
    client = client_of(scene.cast, role)
    for name in _forms(role):
        text = text_of(client.get(url_of(name, scene.world)))
        asked = re.findall(
            r'name="(category|review_date|chance|reason|cleared\w*|eligible\w*)"', text
        )
        assert not asked, f"{name}: {asked}"


def test_lineup_readers_are_the_roles_of_the_design(scene: Scene) -> None:
    """Files and API of published lineups open to readers only, names and all."""
    url = url_of("file", scene.world)
    for role in OTHERS:
        got = outcome(client_of(scene.cast, role).get(url))
        assert (got == "ok") == (role in READERS.split()), role
