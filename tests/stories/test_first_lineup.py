"""From an empty season to a published lineup: one workbook as a band has it, and few clicks."""

from __future__ import annotations

import datetime
from collections.abc import Callable

import pytest
from django.test import Client

from bandops.lib.accounts.models import User
from drill.lineup.models import Lineup
from roster.people.enums import Role
from roster.people.models import Member, RoleGrant, Season
from roster.ranks.models import AlternatePlace, Rank, Spot
from tests.lib.imports_help import csv_file
from tests.lib.test_imports_remembered import book_of
from tests.stories.hand import Hand

pytestmark = pytest.mark.django_db

MOST_UPLOADS, MOST_CLICKS = 6, 45
HORNS = ("Tpt", "Clar", "Mello", "Tbn", "Sousa", "Fl", "Snare", "Alto sax", "Euph")
YEARS = ("1st", "2nd", "3rd", "4th", "Soph", "Jr")
FIRST = ("Wren", "Tove", "Lark", "Ida", "Per", "Nour", "Kit", "Moss", "Una", "Otto")
LAST = ("Abelard", "Birch", "Coombe", "Dunmore", "Elms", "Fell", "Garrow", "Holt", "Ives")
SECTIONS = [[f"{first} {last}" for first in FIRST] for last in LAST]
"""ten members of each horn: eight march one rank, two are its alternates"""
ROSTER = [
    ["Name (Last, First)", "Horn", "Yr"],
    *(
        [", ".join(reversed(name.split())), HORNS[rank], YEARS[(rank + n) % len(YEARS)]]
        for rank, names in enumerate(SECTIONS)
        for n, name in enumerate(names)
    ),
]
GRID = [
    ["Rank", *map(str, range(1, 10)), "Alt 1", "Alt 2"],
    *(
        [str(n), f"{names[0]} (RL)", f"{names[1]} AL", *names[2:7], "OPEN", names[7], *names[8:]]
        for n, names in enumerate(SECTIONS, 1)
    ),
]
DATES = [
    ["Date", "What", "Call", "Segments"],
    ["Sat, Oct 3", "vs. Port Ellery", "11:00 AM", "pregame, halftime"],
    ["Sat, Oct 10", "at Tallow Creek", "TBA", "halftime"],
    ["10/24", "Lamplight Parade", "5 pm", "parade"],
]
SHEETS = {"Roster": ROSTER, "Formation": GRID, "Dates": DATES}


@pytest.fixture
def hand(db: None, signed_in: Callable[[User | None], Client]) -> Hand:
    """A director at the first page of a season with nothing in it."""
    season = Season.objects.create(
        name="2099",
        band_name="Quillwater College Marching Band",
        starts=datetime.date(2099, 8, 10),
        ends=datetime.date(2099, 12, 20),
        is_current=True,
    )
    user = User.objects.create_user("director@staff.example", "Dana Director")
    RoleGrant.objects.create(user=user, season=season, role=Role.DIRECTOR)
    return Hand(signed_in(user))


def publish(hand: Hand) -> None:
    """The first game's lineup, from the list of events."""
    hand.follow("Week")
    hand.follow("Events")
    hand.follow("make the lineup")
    hand.press("Make the lineup")
    hand.follow("Publish …")
    assert hand.text.count("is only a suggestion") == 2
    hand.press("Publish revision 1")
    assert Lineup.objects.get().number == 1


def everything_is_there() -> None:
    assert Member.objects.count() == 90
    assert Spot.objects.count() == 81
    assert AlternatePlace.objects.count() == 18
    assert Rank.objects.filter(leader__isnull=False, assistant_leader__isnull=False).count() == 9


def test_one_workbook_is_enough(hand: Hand) -> None:
    hand.follow("Season")
    hand.follow("Import and export")
    hand.follow("Import Members")
    hand.take_file("band.xlsx", book_of(**SHEETS))
    hand.press("Look at it")
    hand.press("Use these meanings")
    hand.press("Save all of it")
    hand.press("Review Formation")
    hand.press("Save all of it")
    hand.press("Review Dates")
    hand.press("Save all of it")
    publish(hand)
    everything_is_there()
    assert (hand.uploads, hand.clicks) == (1, 17)


def test_three_files_are_few_clicks(hand: Hand) -> None:
    for kind, rows in (("Members", ROSTER), ("Ranks and spots", GRID), ("Events", DATES)):
        hand.follow("Season")
        hand.follow("Import and export")
        hand.follow(f"Import {kind}")
        hand.take_file(f"{kind}.csv", csv_file(*rows))
        hand.press("Look at it")
        if kind == "Members":
            hand.press("Use these meanings")
        hand.press("Save all of it")
    publish(hand)
    everything_is_there()
    assert hand.uploads <= MOST_UPLOADS
    assert hand.clicks <= MOST_CLICKS
