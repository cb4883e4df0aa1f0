"""The rank of alternates whose file names none: the one that needs their part."""

from __future__ import annotations

from collections import Counter, defaultdict

from bandops.lib.imports.words import Choice, UnknownWord, WordKind, Words, register_words, word_key
from roster.people.models import Part, Season
from roster.ranks.imports.place_words import RANKS
from roster.ranks.models import Rank, Spot

RANK_OF_PART = "rank of a part's alternates"
IN_TURN = Choice("in-turn", "in turn: of each standing the first to the first rank, and so on")


def _choices(season: Season) -> list[Choice]:
    return [*RANKS.choices(season), IN_TURN]


register_words(WordKind(RANK_OF_PART, "rank of alternates", _choices))


class RanksOfParts:
    """Which ranks have spots of a part, and which of several staff said."""

    def __init__(self, season: Season, words: Words) -> None:
        self.known = words.of(RANK_OF_PART)
        self.ranks = {str(rank.pk): rank for rank in Rank.objects.filter(season=season)}
        self.needing: dict[int, list[str]] = defaultdict(list)
        self.given: Counter[tuple[int, int]] = Counter()
        spots = Spot.objects.filter(rank__season=season).order_by("rank__order")
        for part, rank in spots.values_list("part_id", "rank_id").distinct():
            self.needing[part].append(str(rank))

    def rank(self, part: Part, standing: int) -> Rank:
        """The rank of the next alternate with a standing; UnknownWord where several need the
        part, ValueError where none does."""
        text = f"{part} alternates"
        found = self.needing.get(part.pk, [])
        said = self.known.get(word_key(text), "")
        if said == IN_TURN.value and found:
            turn = self.given[part.pk, standing]
            self.given[part.pk, standing] += 1
            return self.ranks[found[turn % len(found)]]
        if said in self.ranks or len(found) == 1:
            return self.ranks[said if said in self.ranks else found[0]]
        if not found:
            raise ValueError(f"No rank needs {part}: give a column of ranks.")
        likely = [*(Choice(key, str(self.ranks[key])) for key in found), IN_TURN]
        message = f"{len(found)} ranks need {part}: which do its alternates rehearse with?"
        raise UnknownWord(RANK_OF_PART, text, message, likely)
