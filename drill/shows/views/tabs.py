"""The tabs of a show."""

from __future__ import annotations

from urllib.parse import urlencode

from django.urls import reverse

from bandops.lib.web.menu import Item
from drill.shows.models import Show, ShowVersion
from drill.shows.queries import versions_in_use


def tabs_of(show: Show, current: str, version: ShowVersion | None = None) -> list[Item]:
    """A show's pages, about the version at hand or else the one in use; without any there are
    neither sets nor checks."""
    version = version or versions_in_use({show.pk}).get(show.pk)
    picture = reverse("show", args=[show.pk])
    tabs = [("Picture", f"{picture}?{urlencode({'version': version.pk})}" if version else picture)]
    if version is not None:
        tabs.append(("Sets", reverse("sets", args=[version.pk])))
    tabs.append(("Dots", reverse("dots", args=[show.pk])))
    tabs.append(("Instructions", reverse("show-words", args=[show.pk])))
    if version is not None:
        tabs.append(("Checks", reverse("version-checks", args=[version.pk])))
    tabs.append(("Versions", reverse("versions", args=[show.pk])))
    return [Item(title, address, title == current) for title, address in tabs]
