"""Which spot a row of the ranks is about: one that is there, or a new one and how it is written."""

from __future__ import annotations

import re
from collections import defaultdict
from dataclasses import dataclass

from bandops.lib.bounds import MOST_ORDER
from bandops.lib.imports.plan import Record
from bandops.lib.imports.values import parse_whole
from bandops.lib.names import label_words, plain
from roster.ranks.lookup import (
    SPOT,
    SpotIndex,
    check_unspoiled,
    parse_spot,
    rank_label,
    rank_words,
    spot_words,
)
from roster.ranks.models import LABEL_LENGTH, Rank, Spot

HIGHEST = 999
OWN_LABEL = re.compile(
    r"(?:[^\W\d_]{1,12}[\s.-]?[0-9]{1,3}[^\W\d_]?|[0-9]{1,3}[\s.-]?[^\W\d_]{1,12})"
)
"""A1, T12, T12b; 7B"""
RUN = re.compile(r"[0-9]+|[^\W\d_]+")


@dataclass(frozen=True)
class Seat:
    """A spot as a row gives it; ``own_label`` is empty where rank and number say it."""

    rank: str
    number: int
    own_label: str
    spot: Spot | None

    @property
    def key(self) -> tuple[str, int]:
        return plain(self.rank), self.number

    @property
    def text(self) -> str:
        return self.own_label or f"{self.rank}-{self.number}"


class SeatReader:
    """Reads the spot of each row; labels of new spots get the next free number of their rank."""

    def __init__(self, spots: SpotIndex) -> None:
        self.spots = spots
        self.taken: dict[str, set[int]] = defaultdict(set)
        for rank, number in spots.spots:
            self.taken[rank].add(number)
        self.new: dict[tuple[str, ...], Seat] = {}
        self.new_ranks: dict[tuple[str, ...], str] = {}

    def read(self, record: Record) -> Seat:
        """The row's seat; ValueError (an UnknownWord, where one of several spots is meant)."""
        check_unspoiled(record.cell("spot"))
        named = rank_label(record["rank"]) if record["rank"] else ""
        rank = self.spots.seek_rank(record["rank"]) if named else None
        spot = self._known(record["spot"], named, rank)
        if spot is not None:
            if named and (rank is None or rank.pk != spot.rank_id):
                raise ValueError(f"{record['spot']} is not in rank {record['rank']}.")
            return Seat(spot.rank.label, spot.number, self._label(record, spot.own_label), spot)
        return self._new(record, rank.label if rank else self._rank_so_far(named))

    def _rank_so_far(self, named: str) -> str:
        """A new rank as the first row wrote it: R4 and Rank 4 are one."""
        return self.new_ranks.setdefault(rank_words(named), named) if named else ""

    def _known(self, text: str, named: str, rank: Rank | None) -> Spot | None:
        """A number beside a rank that is new names no spot of another rank."""
        if named and rank is None and len(spot_words(text)) == 1:
            return None
        return self.spots.seek(text, rank)

    def _new(self, record: Record, rank: str) -> Seat:
        text = record["spot"]
        if rank and text.isdecimal():
            seat = Seat(rank, parse_whole(text, least=1, most=MOST_ORDER), "", None)
        elif SPOT.match(text) and not (rank and self._is_own(text, rank)):
            seat = self._by_rank_and_number(record, rank)
        else:
            seat = self._labelled(record, rank)
        there = self.spots.spots.get(seat.key)
        if there is not None and there.own_label:
            raise ValueError(f"Number {seat.number} of rank {seat.rank} is already {there}.")
        label = self._label(record, seat.own_label)
        return self._once(Seat(seat.rank, seat.number, label, there))

    def _is_own(self, text: str, rank: str) -> bool:
        """T-12 in another rank is that rank's own way to write it; 2-4 in rank 1 is a slip."""
        prefix = spot_words(text)[:1]
        lettered = bool(prefix) and not prefix[0].isdecimal()
        return lettered and prefix != label_words(rank) and self.spots.seek_rank(prefix[0]) is None

    def _by_rank_and_number(self, record: Record, rank: str) -> Seat:
        label, number = parse_spot(record.cell("spot"))
        if rank and label_words(rank) != label_words(label):
            raise ValueError(f"{record['spot']} is not in rank {record['rank']}.")
        if not 1 <= number <= HIGHEST:
            raise ValueError(f"A spot's number is 1 to {HIGHEST}, not {number}.")
        known = self.spots.seek_rank(label)
        rank = rank or (known.label if known else self._rank_so_far(label))
        return Seat(rank, number, "", None)

    def _labelled(self, record: Record, rank: str) -> Seat:
        """A spot as the band writes it: its rank stands beside it, or is what it begins with."""
        text = record["spot"]
        if not rank and self.spots.fitting(text):
            self.spots.find(record.cell("spot"))  # tells which spots it may be
        if not OWN_LABEL.fullmatch(text):
            raise ValueError(f"“{text}” is not a spot such as 4-11, A1 or 7B.")
        seen = self.new.get(label_words(text))
        if seen is not None and plain(rank or seen.rank) == plain(seen.rank):
            return seen
        runs = RUN.findall(text)
        known = None if rank else self.spots.seek_rank(runs[0])
        rank = rank or (known.label if known else self._rank_so_far(runs[0]))
        return Seat(rank, self._number(rank, runs), text, None)

    def _number(self, rank: str, runs: list[str]) -> int:
        """The label's own figure or letter where it is free in the rank, else the next number."""
        rest = [run for run in runs if label_words(run) != label_words(rank)] or runs
        figure = next((int(run) for run in rest if run.isdecimal()), 0)
        letter = ord(plain(rest[0])[0]) - ord("`") if len(rest) == len(rest[0]) == 1 else 0
        taken = self.taken[plain(rank)]
        for number in (figure, letter):
            if 1 <= number <= HIGHEST and number not in taken:
                return number
        return max(taken, default=0) + 1

    def _label(self, record: Record, own: str) -> str:
        """What the column of labels says, else what is known or read."""
        label = record["label"] or own
        if len(label) > LABEL_LENGTH:
            raise ValueError(f"“{label}” is longer than {LABEL_LENGTH} characters.")
        if not label_words(label) and label:
            raise ValueError(f"“{label}” is not a spot's label.")
        return label

    def _once(self, seat: Seat) -> Seat:
        """The same spot again where an earlier row wrote it otherwise."""
        seat = self.new.setdefault(label_words(seat.text), seat)
        self.taken[plain(seat.rank)].add(seat.number)
        return seat
