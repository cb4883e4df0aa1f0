"""A band's own abbreviations: added, changed, removed."""

from __future__ import annotations

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.names import clean_name
from drill.fundamentals.core.abbreviations import word_problem
from drill.fundamentals.core.word_tokens import phrase
from drill.fundamentals.models import Abbreviation
from drill.fundamentals.services.fundamentals import fundamentals_of
from drill.fundamentals.services.reading import refuse_unreadable, table_of
from roster.people.models import Season


def save_abbreviation(
    *, actor: User, season: Season, word: str, says: str, row: Abbreviation | None = None
) -> Abbreviation:
    """Add an abbreviation, or change a ``row``. Words that are kept already stay as they are."""
    with recorded(actor, "save abbreviation"):
        Season.objects.select_for_update().get(pk=season.pk)
        fundamentals = fundamentals_of(season)
        it = row or Abbreviation(season=season)
        before, it.word, it.says = phrase(it.said), clean_name(word), clean_name(says)
        trouble = word_problem(it.word, fundamentals)
        if trouble:
            raise Refused(trouble)
        it.said = " ".join(phrase(it.word))
        it.full_clean()
        others = {said: text for said, text in table_of(season).items() if said != before}
        refuse_unreadable({phrase(it.said): it.says, **others}, fundamentals)
        it.save()
    return it


def remove_abbreviation(*, actor: User, row: Abbreviation) -> None:
    """Remove an abbreviation that no other one says."""
    with recorded(actor, "remove abbreviation"):
        season = Season.objects.select_for_update().get(pk=row.season_id)
        rest = {said: text for said, text in table_of(season).items() if said != phrase(row.said)}
        refuse_unreadable(rest, fundamentals_of(season))
        row.delete()
