"""Words of the import of members: parts, members, and what stands in its smaller columns."""

from __future__ import annotations

from collections import Counter

from bandops.lib.accounts.models import User
from bandops.lib.imports.words import Choice, Vocabulary, WordKind, register_words
from roster.people import queries
from roster.people.enums import MemberStatus
from roster.people.lookup import part_choice
from roster.people.models import MOST_YEARS, Part, Season
from roster.people.services.instruments import add_part_named
from roster.people.services.words import PART
from roster.people.wording import member_label

STATUS = Vocabulary(
    "status",
    "status of a member",
    {status.value: status.label for status in MemberStatus},
    {"inactive": "on leave", "loa": "on leave"},
).register()
CLASSES = {
    "fr": "0", "freshman": "0", "new": "0", "rookie": "0", "so": "1", "soph": "1",
    "sophomore": "1", "jr": "2", "junior": "2", "sr": "3", "senior": "3",
}  # fmt: skip
"""the school year as most bands write it: years marched"""
LONGEST_YEARS = min(MOST_YEARS, 9)
ORDINALS = (
    ("1st", "first"), ("2nd", "second"), ("3rd", "third"), ("4th", "fourth"), ("5th", "fifth"),
    ("6th", "sixth"), ("7th",), ("8th",), ("9th",), ("10th",),
)  # fmt: skip
"""who is in their first year has marched none: years marched count whole seasons"""
YEARS = Vocabulary(
    "years marched",
    "years marched",
    {str(n): f"{n} ({ORDINALS[n][0]} year)" if n else "0 (new)" for n in range(LONGEST_YEARS + 1)},
    CLASSES,
    {
        word + behind: str(n)
        for n, names in enumerate(ORDINALS[: LONGEST_YEARS + 1])
        for word in names
        for behind in ("", " year", " yr", " season")
    },
).register()


def _parts(season: Season) -> list[Choice]:
    parts = Part.objects.filter(season=season).select_related("instrument")
    return [part_choice(part) for part in parts]


def _members(season: Season) -> list[Choice]:
    """Two of one name with what tells them apart."""
    members = list(queries.members(season))
    names = Counter(member.name for member in members)
    return [Choice(str(m.pk), member_label(m) if names[m.name] > 1 else m.name) for m in members]


def _add_part(actor: User, season: Season, text: str) -> str:
    return add_part_named(actor=actor, season=season, name=text).code


PARTS = register_words(WordKind(PART, "part", _parts, _add_part))
MEMBERS = register_words(WordKind("member", "member", _members, later=True))
