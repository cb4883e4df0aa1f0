"""The menu: areas in the order of the work, each a row of tabs that the rooms register."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import Enum
from itertools import groupby
from typing import Any

from django.urls import reverse

from bandops.lib.accounts.viewer import Viewer
from bandops.lib.web.rules import Rule

MOST_IN_THE_BAR = 5


class Area(Enum):
    """What a tab belongs to, in the order of the bar; what is a person's own comes last."""

    WEEK = "Week"
    LINEUP = "Lineup"
    PEOPLE = "People"
    DRILL = "Drill"
    SEASON = "Season"
    OWN = ""


@dataclass(frozen=True)
class Entry:
    """A tab. ``word`` is what pages that belong to it name; a ``kept`` page is fetched ahead, for
    the field."""

    area: Area
    order: int
    title: str
    address: str
    word: str
    shown: Rule
    kept: bool = False

    @property
    def url(self) -> str:
        return reverse(self.address)


@dataclass(frozen=True)
class Item:
    """A word in the bar and where it leads."""

    title: str
    url: str
    is_current: bool = False


@dataclass(frozen=True)
class Menu:
    """What a viewer finds: the bar, the tabs of the page's area, what is their own where the bar
    has no room for it, and the pages that are fetched ahead."""

    bar: tuple[Item, ...] = ()
    tabs: tuple[Item, ...] = ()
    own: tuple[Item, ...] = ()
    pinned: tuple[Item, ...] = ()
    kept: tuple[str, ...] = ()
    area: str = ""


_entries: list[Entry] = []
Pin = Callable[[Any], Item | None]
_pins: list[Pin] = []


def add(entry: Entry) -> None:
    """Make a tab known."""
    _entries.append(entry)


def pin(asked: Pin) -> Pin:
    """Register what stands in the bar only at some times."""
    _pins.append(asked)
    return asked


def menu_for(viewer: Viewer, word: str) -> Menu:
    """The menu of a page with this word."""
    shown = sorted((e for e in _entries if e.shown(viewer)), key=_place)
    own = tuple(_tab(e, word) for e in shown if e.area is Area.OWN)
    areas = [(a, list(rows)) for a, rows in groupby(shown, lambda e: e.area) if a is not Area.OWN]
    here = next((rows for _, rows in areas if any(e.word == word for e in rows)), [])
    bar = tuple(Item(area.value, rows[0].url, rows is here) for area, rows in areas)
    has_room = len(bar) + len(own) <= MOST_IN_THE_BAR
    return Menu(
        bar=bar + own if has_room else bar,
        tabs=tuple(_tab(e, word) for e in here) if len(here) > 1 else (),
        own=() if has_room else own,
        pinned=tuple(item for asked in _pins if (item := asked(viewer)) is not None),
        kept=tuple(e.url for e in shown if e.kept),
        area=here[0].area.value if here else "",
    )


def _place(entry: Entry) -> tuple[int, int]:
    return list(Area).index(entry.area), entry.order


def _tab(entry: Entry, word: str) -> Item:
    return Item(entry.title, entry.url, entry.word == word)
