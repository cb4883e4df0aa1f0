"""Every page: accessible at both widths and in all lights, quiet console, no sideways scroll.

The pages come from the site's own list of addresses, so a new page is checked from its first day.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from django.urls import URLPattern, URLResolver, get_resolver, reverse

from bandops.lib.accounts.models import User
from bandops.lib.outbox.models import Artifact
from tests.conftest import BACKEND
from tests.e2e.conftest import PHONE, WIDE, OpenPage, Watched, Week

pytestmark = pytest.mark.django_db(transaction=True)
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
EVERYTHING = {"runOnly": {"type": "tag", "values": TAGS}}
COLOURS = {"runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]}}
OWN_BYTES = 50_000
CARD_BYTES = 30_000
AXE = Axe()


def names_in(patterns: Any) -> Iterator[tuple[str, set[str]]]:
    """Each named address of the site with the names of its arguments; the API's are no pages."""
    for pattern in patterns:
        if isinstance(pattern, URLResolver):
            yield from names_in(pattern.url_patterns)
        elif isinstance(pattern, URLPattern) and re.match(
            "api-docs|(?!api-)", pattern.name or "api-"
        ):
            yield str(pattern.name), set(pattern.pattern.converters)


def arguments(week: Week) -> dict[str, dict[str, Any]]:
    """What the addresses of pages need; those that only take forms get anything."""
    band = week.band
    member, spot = band.members["Cai Ørnberg"].pk, band.spots["2-3"].pk
    rank, part = band.ranks["1"].pk, band.parts["trumpet"].pk
    event, seat = {"pk": band.event.pk}, {"segment_pk": band.halftime.pk, "spot_pk": spot}
    of_event = "week-of lineup proposal publish event event-edit event-copy must-travel card-of"
    of_member = "member member-edit member-standing member-place member-emergency"
    by_kind: tuple[tuple[str, dict[str, Any]], ...] = (
        (of_event, event),
        ("seat", event | seat),
        ("revision revision-progress", {"pk": week.first.pk}),
        (f"{of_member} member-absences member-release", {"pk": member}),
        ("rank rank-edit spot-new", {"pk": rank}),
        ("segment", {"pk": band.halftime.pk}),
        ("show", {"pk": week.show.pk}),
        ("spot spot-covers", {"pk": spot}),
        ("instrument-edit", {"pk": band.parts["trumpet"].instrument_id}),
        ("part-edit", {"pk": part}),
        ("import-review", {"pk": week.upload.pk}),
        ("import-upload", {"kind_key": "members"}),
        ("export", {"name": "members", "form": "csv"}),
        ("file", {"pk": Artifact.objects.values_list("pk", flat=True)[0]}),
        ("code", {"code": week.first.code}),
        ("link", {"scope": "sign-in", "token": "no-such-token"}),
    )
    return {name: values for names, values in by_kind for name in names.split()}


def paths(week: Week, user: User | None) -> list[str]:
    """Every page that the account gets; those not for it are refused, which others test."""
    client = Client()
    if user is not None:
        client.force_login(user, backend=BACKEND)
    known, found, unknown = arguments(week), [], []
    for name, needs in names_in(get_resolver().url_patterns):
        values = known.get(name, dict.fromkeys(needs, 1) | needs_text(needs))
        path = reverse(name, kwargs=values)
        response = client.get(path)
        if response.status_code == 404:
            unknown.append(name)
        is_page = response.get("Content-Type", "").startswith("text/html")
        if response.status_code == 200 and is_page and b"<html" in response.content:
            found.append(path)
    assert not unknown, f"say in `arguments` what these addresses need: {unknown}"
    return found


def needs_text(needs: set[str]) -> dict[str, str]:
    """Something for the arguments that are no numbers."""
    return dict.fromkeys(needs & {"kind", "kind_key", "scope", "token", "name", "form"}, "x")


def more_paths(week: Week, role: str) -> list[str]:
    """Pages that show something else with a question."""
    if role != "director":
        return []
    lineup = reverse("lineup", args=[week.band.event.pk])
    return [
        f"{lineup}?view=field&segment={week.band.halftime.pk}",
        f"{reverse('people')}?q=nunes",
        f"{reverse('show', args=[week.show.pk])}?set=2",
        reverse("revision", args=[week.second.pk]),
        reverse("import-upload", args=["coordinates"]),
    ]


def complaints(watched: Watched, where: str, options: dict[str, Any]) -> list[str]:
    """axe's violations on what the browser shows, one line each."""
    found = AXE.run(watched.page, options=options).response["violations"]
    return [
        f"{where}: {v['id']}: {node['target']} {node['html'][:160]}"
        for v in found
        for node in v["nodes"][:3]
    ]


def look(watched: Watched, path: str) -> list[str]:
    """Everything wrong with one page: axe in light, its colours in dark and in the sun."""
    page = watched.page
    page.emulate_media(color_scheme="light")
    watched.go(path)
    wrong = complaints(watched, path, EVERYTHING)
    own = watched.own_bytes()
    if own > OWN_BYTES:
        wrong.append(f"{path}: {own} bytes of our own style, script and letters")
    sideways = page.evaluate(
        "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    )
    if sideways > 0:
        wrong.append(f"{path}: {sideways} px too wide")
    page.emulate_media(color_scheme="dark")
    wrong += complaints(watched, f"{path} (dark)", COLOURS)
    page.evaluate("document.documentElement.dataset.light = 'sun'")
    wrong += complaints(watched, f"{path} (sun)", COLOURS)
    return wrong


@pytest.mark.parametrize("width", [WIDE, PHONE])
@pytest.mark.parametrize("role", ["director", "leader", "member", "gear", "outsider", "visitor"])
def test_every_page_is_accessible_quiet_and_fits(
    role: str, width: int, week: Week, open_page: OpenPage
) -> None:
    user = week.cast.named(role)
    watched = open_page(user, width)
    wrong = []
    for path in paths(week, user) + more_paths(week, role):
        wrong += look(watched, path)
    wrong += watched.wrong
    assert not wrong, "\n".join(wrong)
