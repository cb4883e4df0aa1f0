"""Words read with a season's own abbreviations."""

from __future__ import annotations

from collections.abc import Mapping

from bandops.lib.errors import Refused
from drill.fundamentals.core import Fundamental as Movement
from drill.fundamentals.core.abbreviations import Table, problem, spelled_out
from drill.fundamentals.core.word_tokens import NotUnderstood, phrase
from drill.fundamentals.models import Abbreviation
from roster.people.models import Season


def table_of(season: Season) -> Table:
    """What the season's abbreviations say."""
    rows = Abbreviation.objects.filter(season=season).values_list("said", "says")
    return {phrase(said): says for said, says in rows}


def spell_out(words: str, season: Season, fundamentals: Mapping[str, Movement]) -> str:
    """The words without abbreviations, so that they stay what they are when the table changes.

    Raises:
        Refused: where they get too long.
    """
    try:
        return spelled_out(words, table_of(season), fundamentals)
    except NotUnderstood as error:
        raise Refused(str(error)) from error


def refuse_unreadable(table: Table, fundamentals: Mapping[str, Movement]) -> None:
    """Every abbreviation must say what can be read; Refused with the first that does not."""
    for said in table:
        trouble = problem(said, table, fundamentals)
        if trouble:
            raise Refused(f"The abbreviation “{' '.join(said)}”: {trouble}")
