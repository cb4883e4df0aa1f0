"""The parts of open spots that a file names without saying a part: those of their rank."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from bandops.lib.imports.plan import Record
from bandops.lib.imports.words import Choice, Known, UnknownWord, WordKind, register_words, word_key
from bandops.lib.names import plain
from roster.people.lookup import part_choice
from roster.people.models import Part, Season
from roster.ranks.imports.seats import Seat

RANK_PART = "part of a rank's open spots"
NO_SPOT = Choice("no-spot", "no spots: leave the open cells out")


def _choices(season: Season) -> list[Choice]:
    parts = Part.objects.filter(season=season).select_related("instrument")
    return [NO_SPOT, *(part_choice(part) for part in parts)]


register_words(WordKind(RANK_PART, "part of open spots", _choices))


@dataclass(frozen=True)
class OpenSpot:
    """A spot that a row says is open, and that is not there yet."""

    record: Record
    seat: Seat


class RankParts:
    """Which parts the spots of each rank need, and what staff said of the open ones."""

    def __init__(self, needed: Iterable[tuple[str, Part]], parts: list[Part], known: Known) -> None:
        self.counts: dict[str, Counter[str]] = {}
        self.by_code = {part.code: part for part in parts}
        self.known = known
        for rank, part in needed:
            self.counts.setdefault(plain(rank), Counter())[part.code] += 1

    def part_of(self, rank: str) -> Part | None:
        """The part of the rank's open spots: as staff said, else the one that all others need.

        None where there shall be no spots; UnknownWord where the rank has several parts or none.
        """
        named = f"Rank {rank}"
        said = self.known.get(word_key(named), "")
        if said == NO_SPOT.value or said in self.by_code:
            return self.by_code.get(said)
        found = self.counts.get(plain(rank), Counter())
        codes = [code for code, _ in found.most_common()]
        if len(codes) == 1:
            return self.by_code[codes[0]]
        likely = [part_choice(self.by_code[code]) for code in codes]
        message = f"Which part do the open spots of rank {rank} need?"
        raise UnknownWord(RANK_PART, named, message, likely)
