"""Finding ranks and spots by what a file calls them."""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable

from bandops.lib.imports.tables import Cell, Oddity
from bandops.lib.imports.values import looks_like_date
from bandops.lib.imports.words import NO_WORDS, Choice, UnknownWord, Words, word_key
from bandops.lib.labels import nearest_labels
from bandops.lib.names import label_key, label_words, plain
from roster.people.models import Season
from roster.ranks.models import LABEL_LENGTH, Rank, Spot

SPOT = re.compile(r"^\s*(.+?)\s*[-–—:/]\s*(\d{1,3})\s*$")
RANK_WORD = re.compile(r"^(?:rank|line)\s+|\s+(?:rank|line)$", re.IGNORECASE)
ORDINAL = re.compile(r"^(\d+)(?:st|nd|rd|th)$", re.IGNORECASE)
SHORT_RANK = re.compile(r"^r\s*(\d+)$", re.IGNORECASE)
SPOT_WORDS = frozenset(["spot", "dot", "rank", "no"])
MOST_CHOICES = 12


def rank_label(text: str) -> str:
    """A rank's label as written, without the word beside it and as a plain number where it is
    a 4th; ValueError for none."""
    label = RANK_WORD.sub("", text.strip()).strip()
    ordinal = ORDINAL.match(label)
    label = ordinal[1] if ordinal else label
    if not plain(label):
        raise ValueError(f"“{text}” is not the label of a rank.")
    if len(label) > LABEL_LENGTH:
        raise ValueError(f"“{text}” is longer than {LABEL_LENGTH} characters.")
    return label


def check_unspoiled(cell: Cell) -> None:
    """ValueError for what a spreadsheet made of a spot."""
    if cell.oddity is Oddity.DATE or looks_like_date(cell.text):
        raise ValueError(
            f"“{cell.text}” looks like a date that a spreadsheet made of a spot such as 5-11: "
            "format the column as text and type it again."
        )


def parse_spot(cell: Cell) -> tuple[str, int]:
    """(rank label, number) of a spot written 4-11; ValueError when a spreadsheet spoiled it."""
    check_unspoiled(cell)
    match = SPOT.match(cell.text)
    if match is None:
        raise ValueError(f"“{cell.text}” is not a spot such as 4-11.")
    return rank_label(match[1]), int(match[2])


def looks_like_spot(text: str) -> bool:
    """Written 4-11; a phone number or a date is none."""
    return SPOT.match(text) is not None and len(text) <= 8 and not looks_like_date(text)


def spot_words(text: str) -> tuple[str, ...]:
    """What a spot's label is compared by, without a word such as “spot” before it."""
    if any(c.isdigit() and not c.isdecimal() for c in text):  # ² is no 2
        return ()
    words = label_words(text)
    while len(words) > 1 and words[0] in SPOT_WORDS:
        words = words[1:]
    return words


def rank_words(text: str) -> tuple[str, ...]:
    """What a rank's label is compared by: 4, Rank 4, R4 and 4th rank are the same."""
    bare = RANK_WORD.sub("", text.strip()).strip()
    short = SHORT_RANK.match(bare) or ORDINAL.match(bare)
    return label_words(short[1] if short else bare)


class SpotIndex:
    """The season's spots and ranks, by every usual way to write them, and by the words that a
    reviewer has said the meaning of."""

    def __init__(self, season: Season, words: Words = NO_WORDS) -> None:
        self.spot_names, self.rank_names = words.of("spot"), words.of("rank")
        self.ranks = {plain(r.label): r for r in Rank.objects.filter(season=season)}
        found = Spot.objects.filter(rank__season=season).select_related("rank", "part")
        self.spots = {(plain(s.rank.label), s.number): s for s in found}
        self.by_value = {str(spot.pk): spot for spot in self.spots.values()}
        self.by_words = {label_words(s.label): s for s in self.spots.values()}
        self.by_figure: dict[str, list[Spot]] = defaultdict(list)
        for spot in self.spots.values():
            for figure in _figures(spot):
                self.by_figure[figure].append(spot)
        self.ranks_by_words: dict[tuple[str, ...], list[Rank]] = defaultdict(list)
        for rank in self.ranks.values():
            self.ranks_by_words[rank_words(rank.label)].append(rank)

    def find(self, cell: Cell, rank: Rank | None = None) -> Spot:
        """The spot; UnknownWord where none or more than one is meant, and ValueError for what
        a spreadsheet spoiled. A number alone is one of the row's own ``rank``, if it gives one."""
        check_unspoiled(cell)
        spot = self.seek(cell.text, rank)
        if spot is not None:
            return spot
        fitting = self.fitting(cell.text, rank)
        if fitting:
            labels = ", ".join(s.label for s in fitting[:MOST_CHOICES])
            message = (
                f"“{cell.text}” may be {len(fitting)} spots ({labels}): write the whole label."
            )
            raise UnknownWord("spot", cell.text, message, _choices(fitting))
        near = self.near(cell.text)
        message = f"No spot “{cell.text}” this season.{did_you_mean(s.label for s in near[:3])}"
        raise UnknownWord("spot", cell.text, message, _choices(near))

    def seek(self, text: str, rank: Rank | None = None) -> Spot | None:
        """The spot where just one is meant."""
        known = self.by_value.get(self.spot_names.get(word_key(text), ""))
        words = spot_words(text)
        inside = self.by_words.get((*label_words(rank.label), *words)) if rank else None
        spot = inside or known or self.by_words.get(words)
        if spot is not None:
            return spot
        fitting = self.fitting(text, rank)
        return fitting[0] if len(fitting) == 1 else None

    def fitting(self, text: str, rank: Rank | None = None) -> list[Spot]:
        """The spots that a number alone may mean."""
        words = spot_words(text)
        found = self.by_figure.get(words[0], []) if len(words) == 1 else []
        return [s for s in found if rank is None or s.rank_id == rank.pk]

    def near(self, text: str) -> list[Spot]:
        """Spots whose labels are a slip away, the likeliest first."""
        labels = {spot: label_words(spot.label) for spot in self.spots.values()}
        return nearest_labels(spot_words(text), labels, MOST_CHOICES)

    def rank(self, text: str) -> Rank:
        """The rank; UnknownWord where none or more than one is meant."""
        rank = self.seek_rank(text)
        if rank is None:
            choices = [Choice(str(r.pk), str(r)) for r in self.ranks.values()]
            raise UnknownWord("rank", text, f"No rank “{text}” this season.", choices)
        return rank

    def seek_rank(self, text: str) -> Rank | None:
        """The rank where just one is meant: as it is written, or in another usual way."""
        value = self.rank_names.get(word_key(text))
        known = next((r for r in self.ranks.values() if str(r.pk) == value), None)
        same = known or self.ranks.get(plain(text))
        found = self.ranks_by_words.get(rank_words(text), [])
        return same or (found[0] if len(found) == 1 else None)


def _figures(spot: Spot) -> set[str]:
    """The numbers that alone may mean a spot."""
    if spot.own_label:
        return {word for word in label_words(spot.own_label) if word.isdecimal()}
    return {str(spot.number)}


def _choices(spots: Iterable[Spot]) -> list[Choice]:
    ordered = sorted(spots, key=lambda s: label_key(s.label))
    return [Choice(str(s.pk), f"{s.label} ({s.part})") for s in ordered]


def did_you_mean(labels: Iterable[str]) -> str:
    """A question after a message; nothing for no labels."""
    named = list(labels)
    return f" Did you mean {' or '.join(named)}?" if named else ""
