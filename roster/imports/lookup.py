"""Finding members, parts and spots by what a file calls them."""

from __future__ import annotations

import difflib
import re
from collections import defaultdict
from collections.abc import Iterable

from bandops.lib.imports.reading import Cell, Oddity
from bandops.lib.imports.values import looks_like_date
from bandops.lib.names import plain
from roster.imports.part_names import meaning
from roster.models import AlternatePlace, Holding, Member, Part, Rank, Season, Spot

SPOT = re.compile(r"^\s*(.+?)\s*[-–—:/]\s*(\d{1,3})\s*$")
LABEL_LENGTH = 20


class MemberIndex:
    """The season's members by student number, e-mail and name."""

    def __init__(self, season: Season) -> None:
        self.members = list(
            Member.objects.filter(season=season).select_related("person").order_by("pk")
        )
        self.by_number: dict[str, Member] = {}
        self.by_email: dict[str, Member] = {}
        self.by_name: dict[str, list[Member]] = defaultdict(list)
        for member in self.members:
            person = member.person
            if person.student_number:
                self.by_number[person.student_number] = member
            if person.email:
                self.by_email[person.email.lower()] = member
            for name in {plain(person.used_name), plain(person.legal_name)} - {""}:
                self.by_name[name].append(member)

    def find(self, text: str) -> Member:
        """The member; ValueError when there is none or more than one of the name."""
        found = self.by_number.get(text) or self.by_email.get(text.lower())
        if found is not None:
            return found
        named = self.by_name.get(plain(text), [])
        if len(named) > 1:
            raise ValueError(f"{len(named)} members are called {text}: give the student number.")
        if not named:
            raise ValueError(f"No member “{text}” this season.{self._hint(text)}")
        return named[0]

    def _hint(self, text: str) -> str:
        same = without_zeros(self.by_number).get(text.lstrip("0"))
        return f" There is {same}: did a spreadsheet drop its zeros?" if same else ""


def without_zeros(numbers: Iterable[str]) -> dict[str, str]:
    """Numbers by what a spreadsheet leaves of them: 4417 of 004417."""
    return {number.lstrip("0"): number for number in numbers if number.isdecimal()}


class PartIndex:
    """The season's parts by code and name."""

    def __init__(self, season: Season) -> None:
        self.parts = list(Part.objects.filter(season=season).select_related("instrument"))
        self.by_code = {plain(part.code): part for part in self.parts}
        self.by_name: dict[str, list[Part]] = defaultdict(list)
        for part in self.parts:
            self.by_name[plain(part.name)].append(part)
        self.by_meaning: dict[frozenset[str], list[Part]] = defaultdict(list)
        for part in self.parts:
            for meant in {meaning(part.name), meaning(part.code)}:
                self.by_meaning[meant].append(part)

    def find(self, text: str) -> Part:
        """The part; ValueError when there is none or more than one of the name."""
        name = plain(text)
        named = [self.by_code[name]] if name in self.by_code else self.by_name.get(name, [])
        if len(named) > 1:
            codes = ", ".join(part.code for part in named)
            raise ValueError(f"{len(named)} parts are called {text}: give a code ({codes}).")
        if not named:
            named = self.by_meaning.get(meaning(text), [])
        if len(named) != 1:
            raise ValueError(f"No part “{text}”.{self._near(text)}")
        return named[0]

    def _near(self, text: str) -> str:
        """Parts that may be meant, or where to add one."""
        words = meaning(text)
        near = [p.name for p in self.parts if words & meaning(p.name)]
        near += difflib.get_close_matches(text, [p.name for p in self.parts], n=3, cutoff=0.7)
        if near:
            return f" Did you mean {' or '.join(dict.fromkeys(near[:4]))}?"
        return " Add it under Instruments and parts first."


def rank_label(text: str) -> str:
    """A rank's label as written, without the word before it; ValueError for none."""
    label = re.sub(r"^rank\s+", "", text.strip(), flags=re.IGNORECASE)
    if not plain(label):
        raise ValueError(f"“{text}” is not the label of a rank.")
    if len(label) > LABEL_LENGTH:
        raise ValueError(f"“{text}” is longer than {LABEL_LENGTH} characters.")
    return label


def parse_spot(cell: Cell) -> tuple[str, int]:
    """(rank label, number) of a spot written 4-11; ValueError when a spreadsheet spoiled it."""
    if cell.oddity is Oddity.DATE or looks_like_date(cell.text):
        raise ValueError(
            f"“{cell.text}” looks like a date that a spreadsheet made of a spot such as 5-11: "
            "format the column as text and type it again."
        )
    match = SPOT.match(cell.text)
    if match is None:
        raise ValueError(f"“{cell.text}” is not a spot such as 4-11.")
    return rank_label(match[1]), int(match[2])


class SpotIndex:
    """The season's spots by rank label and number."""

    def __init__(self, season: Season) -> None:
        self.ranks = {plain(r.label): r for r in Rank.objects.filter(season=season)}
        spots = Spot.objects.filter(rank__season=season).select_related("rank", "part")
        self.spots = {(plain(s.rank.label), s.number): s for s in spots}

    def find(self, cell: Cell) -> Spot:
        """The spot; ValueError when there is none."""
        label, number = parse_spot(cell)
        found = self.spots.get((plain(label), number))
        if found is None:
            raise ValueError(f"No spot {label}-{number} this season.")
        return found

    def rank(self, text: str) -> Rank:
        """The rank; ValueError when there is none."""
        found = self.ranks.get(plain(rank_label(text))) if text else None
        if found is None:
            raise ValueError(f"No rank “{text}” this season.")
        return found


def needed_parts(season: Season) -> dict[int, list[tuple[Part, str]]]:
    """Member id -> the parts their places need, with what the place is."""
    needed: dict[int, list[tuple[Part, str]]] = {}
    holdings = Holding.objects.filter(spot__rank__season=season, ends__isnull=True)
    for holding in holdings.select_related("spot__rank", "spot__part"):
        needed.setdefault(holding.member_id, []).append(
            (holding.spot.part, f"holds {holding.spot}")
        )
    for place in AlternatePlace.objects.filter(rank__season=season).select_related("part", "rank"):
        where = f"is an alternate of {place.rank}"
        needed.setdefault(place.member_id, []).append((place.part, where))
    return needed
