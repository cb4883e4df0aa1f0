"""The words that a season's files use, and what they mean."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from bandops.lib.accounts.models import User
from bandops.lib.audit.recording import recorded
from bandops.lib.errors import Refused
from bandops.lib.imports.words import Answer, word_key
from roster.people.models import KeptWord, Part, Season

PART = "part"
"""the kind of the words that name parts"""


def keep_words(*, actor: User, season: Season, answers: Sequence[Answer]) -> None:
    """Keep what words mean; each has one meaning a kind."""
    with recorded(actor, "keep words"):
        for answer in answers:
            KeptWord.objects.update_or_create(
                season=season,
                kind=answer.kind,
                key=word_key(answer.text),
                defaults={
                    "text": answer.text,
                    "value": answer.value,
                    "label": answer.label[:200],
                },
            )


def forget_word(*, actor: User, season: Season, kind: str, text: str) -> None:
    """Have the next file ask again what a word means."""
    with recorded(actor, "forget word"):
        KeptWord.objects.filter(season=season, kind=kind, key=word_key(text)).delete()


def names_of(part: Part) -> list[str]:
    """What else a part is called in files."""
    words = KeptWord.objects.filter(season=part.season_id, kind=PART, value=part.code)
    return list(words.values_list("text", flat=True))


def set_names(*, actor: User, part: Part, names: Iterable[str], code: str = "") -> None:
    """Set what else a part is called in files; ``code`` is the one it went by until now.

    Refused for a name that another part has.
    """
    wanted = {word_key(name): name for name in names}
    with recorded(actor, "save part"):
        mine = KeptWord.objects.filter(
            season=part.season, kind=PART, value__in=[part.code, code or part.code]
        )
        mine.exclude(key__in=wanted).delete()
        mine.update(value=part.code, label=part.name)
        taken = KeptWord.objects.filter(season=part.season, kind=PART, key__in=wanted)
        for word in taken.exclude(value=part.code):
            raise Refused(f"“{word.text}” already means {word.label}.")
        answers = [Answer(PART, name, part.code, part.name) for name in wanted.values()]
        keep_words(actor=actor, season=part.season, answers=answers)
